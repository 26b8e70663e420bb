"""The table of nights: for each night ahead what catching him then would save, and the chances behind it.

saved(n) = E[held young * v_held(a) + releasing * (share still in) * v_held(a) + (share let go after now) * v_free]
+ P(eyed) * v_eyed + P(eggs) * v_eggs, with the age a in days since hatching; what is lost saves nothing.

Readings the page leaves open, decided here: the young leave evenly between the first and the last release. Where
hatching after dark is the release and he sits alone, what hatches on a later night is as free and as safe as what
hatched on an earlier one; were it worth as little as eggs, the best night would lie where all have surely hatched.
What has hatched since lamps-out of a night under way belongs to that night: it is being collected.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property

import numpy as np

from holdwatch.domain.catch import Night, Prospect, lamps_on_instant, lamps_out_instant, night_of, nights_ahead
from holdwatch.domain.clock import days_between
from holdwatch.domain.forecast.answers import Chances, chances_at
from holdwatch.domain.forecast.belief import Belief
from holdwatch.domain.forecast.evidence import Evidence, Tank
from holdwatch.domain.looks import EMPTY, EYED, HATCHED, ORANGE, RELEASING
from holdwatch.domain.species import Held, Profile


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
    """What acting on one night would save of each brood, shape (n).

    It holds for broods that are not lost by `days` since the origin: by the catch, or where hatching after dark is the
    release, by the lamps-on that ends the night; `survives` is the chance of that before any look. `held` is the share
    saved of what is still with him, `gone` the share let go by then, of which `free` is saved; what was let go before
    one asks, `let_go`, can no longer be.
    """

    night: Night
    days: float
    survives: np.ndarray
    held: np.ndarray
    gone: np.ndarray
    free: float
    let_go: np.ndarray

    @cached_property
    def saved(self) -> np.ndarray:
        """The share saved of each brood."""
        return self.saved_with_him + self.free * (self.gone - self.let_go) * (self.let_go < 1)

    @cached_property
    def saved_with_him(self) -> np.ndarray:
        """The share saved of what is still with him; where all are let go at once, nothing is after that."""
        return self.held * (self.let_go < 1)


def night_table(belief: Belief, worths: Sequence[NightWorth]) -> tuple[NightChances, ...]:
    """Return the nights ahead with what each would save on the whole."""
    chances = chances_at(belief, [worth.night.at for worth in worths])
    return tuple(_night(belief, *one) for one in zip(worths, chances, strict=True))


def night_worths(belief: Belief, evidence: Evidence, profile: Profile) -> Iterator[NightWorth]:
    """Yield for each night ahead what it is worth, brood by brood; nothing once the brood has ended."""
    if evidence.ended():
        return
    tank, worth = evidence.tank, profile.worth
    free = worth.free_alone if tank.company == "alone" else worth.free_among_others
    let_go = belief.steps.share_let_go(days_between(belief.origin, gone_before(evidence.now, tank, profile)))
    for night in nights_ahead(evidence.now, tank.zone_info(), tank.lamps_out, tank.lamps_on):
        if profile.hatching:
            later = free if tank.company == "alone" else worth.eggs
            days, held, gone = _at_the_hatch(night, belief, tank, profile.hatching.saved_in_the_dark, later)
        else:
            days, held, gone = _from_the_mouth(night, belief, *_shares_held(profile))
        yield NightWorth(night, days, belief.survival.at(days), held, gone, free, let_go)


def gone_before(at: datetime, tank: Tank, profile: Profile) -> datetime:
    """Return the instant before which whatever was let go can no longer be saved by anything done from `at` on."""
    if not profile.hatching:
        return at
    under_way = night_of(at, tank.zone_info(), tank.lamps_out, tank.lamps_on)
    return min(at, lamps_out_instant(under_way, tank.zone_info(), tank.lamps_out))


def _at_the_hatch(
    night: Night, belief: Belief, tank: Tank, in_the_dark: float, later: float
) -> tuple[float, np.ndarray, np.ndarray]:
    """Return when the night ends, what is saved of what hatches in its dark or later, and what hatched before it."""
    hatch, zone = belief.hatch, tank.zone_info()
    out = days_between(belief.origin, lamps_out_instant(night.date, zone, tank.lamps_out))
    on = days_between(belief.origin, lamps_on_instant(night.date, zone, tank.lamps_out, tank.lamps_on))
    held = in_the_dark * ((hatch >= out) & (hatch < on)) + later * (hatch >= on)
    return on, held, (hatch < out).astype(float)


def _from_the_mouth(
    night: Night, belief: Belief, by_state: np.ndarray, shares: Held
) -> tuple[float, np.ndarray, np.ndarray]:
    """Return when he is caught, what is saved of what he holds then, and the share let go by then."""
    steps, days = belief.steps, days_between(belief.origin, night.at)
    gone, state = steps.share_let_go(days), steps.state(days)
    of_young = shares.young + shares.young_gain * np.clip((days - steps.hatch) / shares.young_gain_days, 0, 1)
    young = (state == HATCHED) | (state == RELEASING)
    return days, np.where(young, of_young * (1 - gone), by_state[state]), gone


def _shares_held(profile: Profile) -> tuple[np.ndarray, Held]:
    """Return the share saved of each state that is not young, shape (6), and the numbers for young."""
    if profile.held is None:
        raise LookupError(f"{profile.species}: nothing is known of catching him over young")
    by_state = np.zeros(6)
    by_state[[EMPTY, ORANGE]], by_state[EYED] = profile.worth.eggs, profile.held.eyed
    return by_state, profile.held


def _night(belief: Belief, worth: NightWorth, chances: Chances) -> NightChances:
    kept = belief.holding * worth.survives
    saved, with_him = float(np.sum(kept * worth.saved)), float(np.sum(kept * worth.saved_with_him))
    return NightChances(worth.night.date, worth.night.at, saved, with_him, chances)
