"""The table of nights: for each night ahead what catching him then would save, and the chances behind it.

saved(n) = E[held young * v_held(a) + releasing * (share still in) * v_held(a) + (share let go after now) * v_free]
+ P(eyed) * v_eyed + P(eggs) * v_eggs, with the age a in days since hatching; what is lost saves nothing.

A reading the page leaves open, decided here: the young leave evenly between the first and the last release.
"""

from collections.abc import Iterable, Iterator
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


@dataclass(frozen=True)
class NightWorth:
    """What a catch on one night would save of each brood that is not lost by then, shape (n), and of that with him."""

    night: Night
    days: float
    saved: np.ndarray
    saved_with_him: np.ndarray


def night_table(belief: Belief, worths: Iterable[NightWorth]) -> tuple[NightChances, ...]:
    """Return the nights ahead with what each would save on the whole."""
    return tuple(_night(worth, belief) for worth in worths)


def night_worths(belief: Belief, evidence: Evidence, profile: Profile) -> Iterator[NightWorth]:
    """Yield for each night ahead what it is worth, brood by brood; nothing once the brood has ended."""
    if evidence.ended():
        return
    tank, steps = evidence.tank, belief.steps
    free = profile.worth.free_alone if tank.company == "alone" else profile.worth.free_among_others
    let_go = steps.share_let_go(days_between(belief.origin, evidence.now))
    for night in nights_ahead(evidence.now, tank.zone_info(), tank.lamps_out, tank.lamps_on):
        days = days_between(belief.origin, night.at)
        gone = steps.share_let_go(days)
        with_him = _worth_with_him(steps.state(days), gone, days - steps.hatch, profile.worth)
        yield NightWorth(night, days, with_him + free * (gone - let_go), with_him)


def _night(worth: NightWorth, belief: Belief) -> NightChances:
    kept = belief.weights * belief.kept(worth.days)
    saved, with_him = float(np.sum(kept * worth.saved)), float(np.sum(kept * worth.saved_with_him))
    chances = chances_of(belief.steps.state(worth.days), kept)
    return NightChances(worth.night.date, worth.night.at, saved, with_him, chances)


def _worth_with_him(state: np.ndarray, gone: np.ndarray, age: np.ndarray, worth: Worth) -> np.ndarray:
    """Return the share of its clutch that each brood would still save, shape (n)."""
    held = worth.held + worth.held_gain * np.clip(age / worth.held_gain_days, 0, 1)
    by_state = np.zeros(6)
    by_state[[EMPTY, ORANGE]], by_state[EYED] = worth.eggs, worth.eyed
    young = (state == HATCHED) | (state == RELEASING)
    return np.where(young, held * (1 - gone), by_state[state])
