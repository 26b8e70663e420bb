"""The table of nights: for each night ahead what catching him then would save, and the chances behind it.

saved(n) = E[held young * v_held(a) + releasing * (share still in) * v_held(a) + (share let go after now) * v_free]
+ P(eyed) * v_eyed + P(eggs) * v_eggs, with the age a in days since hatching; what is lost saves nothing.

A reading the page leaves open, decided here: the young leave evenly between the first and the last release.
"""

from dataclasses import dataclass
from datetime import date, datetime

import numpy as np

from holdwatch.domain.catch import Night, Prospect, nights_ahead
from holdwatch.domain.clock import days_between
from holdwatch.domain.forecast.answers import Chances, chances_of
from holdwatch.domain.forecast.belief import Belief
from holdwatch.domain.forecast.evidence import Evidence
from holdwatch.domain.looks import EMPTY, EYED, HATCHED, ORANGE, RELEASING
from holdwatch.domain.species import Profile, Worth


@dataclass(frozen=True)
class NightChances:
    """One night ahead: its date, the instant of the catch, the share saved, and the six chances then."""

    night: date
    at: datetime
    saved: float
    saved_with_him: float
    chances: Chances

    def prospect(self) -> Prospect:
        """Return what the choice of a night needs of this one."""
        return Prospect(Night(self.night, self.at), self.saved, self.saved_with_him)


def night_table(belief: Belief, evidence: Evidence, profile: Profile) -> tuple[NightChances, ...]:
    """Return the nights ahead, none after a catch."""
    if evidence.catch:
        return ()
    tank = evidence.tank
    nights = nights_ahead(evidence.now, tank.zone_info(), tank.lamps_out, tank.lamps_on)
    let_go = belief.steps.share_let_go(days_between(belief.origin, evidence.now))
    return tuple(_night(night, belief, let_go, tank.company, profile.worth) for night in nights)


def _night(night: Night, belief: Belief, let_go: np.ndarray, company: str, worth: Worth) -> NightChances:
    days = days_between(belief.origin, night.at)
    state, kept = belief.steps.state(days), belief.weights * belief.kept(days)
    gone = belief.steps.share_let_go(days)
    with_him = float(np.sum(kept * _worth_with_him(state, gone, days - belief.steps.hatch, worth)))
    free = worth.free_alone if company == "alone" else worth.free_among_others
    saved = with_him + free * float(np.sum(kept * (gone - let_go)))
    return NightChances(night.date, night.at, saved, with_him, chances_of(state, kept))


def _worth_with_him(state: np.ndarray, gone: np.ndarray, age: np.ndarray, worth: Worth) -> np.ndarray:
    """Return the share of its clutch that each brood would still save, shape (n)."""
    held = worth.held + worth.held_gain * np.clip(age / worth.held_gain_days, 0, 1)
    by_state = np.zeros(6)
    by_state[[EMPTY, ORANGE]], by_state[EYED] = worth.eggs, worth.eyed
    young = (state == HATCHED) | (state == RELEASING)
    return np.where(young, held * (1 - gone), by_state[state])
