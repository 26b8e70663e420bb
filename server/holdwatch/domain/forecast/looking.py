"""The next look: what each look still to come could change about the night to catch.

For each outcome of the parts that can be asked under the light of that hour, the best night not before that evening;
the sum of chance times best, less the best without looking, is what the look gains. It costs the clutch a little
under red light (0.004, an assumption of the page) and nothing at a usual feeding. No look by torch is ever weighed.

All outcomes are linear in what a brood has to show (see `outcomes`), so one product of a matrix of weights (a row for
each night) with what the broods show gives them all.

Readings the page leaves open, decided here: a male is usually fed two hours before lamps-out where nobody says when
(common practice, no source); a look is advised only if it gains 0.005 more than it costs, the difference at which two
nights are as good as each other, since any free look gains a little something; what to look for is the part that alone
would gain most.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from functools import cached_property

import numpy as np

from holdwatch.domain.catch import AS_GOOD, FED_BEFORE_LAMPS_OUT, Night, lamps_on_instant, lamps_out_instant
from holdwatch.domain.clock import days_between
from holdwatch.domain.forecast.belief import Belief
from holdwatch.domain.forecast.evidence import Evidence, Tank
from holdwatch.domain.forecast.nights import NightWorth
from holdwatch.domain.forecast.outcomes import Features, contracted, features
from holdwatch.domain.forecast.sight import Glimpse, Sight, glimpse_of
from holdwatch.domain.looks import (
    CLASS_OF_LIGHT,
    ONE_LOOK,
    Finding,
)
from holdwatch.domain.species import Profile, Seen

DARK_BEFORE_LOOK = timedelta(minutes=30)
ASKED = {
    "daylight": ("mouth", "clutch", "eggs", "tails", "food", "loose_fry"),
    "red": ("mouth", "tails", "loose_fry"),
}
COST = {"daylight": 0.0, "red": 0.004}


@dataclass(frozen=True)
class Chance:
    """A look that could be made: on which night (by its date), when, and under which light."""

    night: date
    at: datetime
    light: str

    def findings(self, parts: Sequence[str]) -> tuple[Finding, ...]:
        """Return which of these parts would be asked, those of eggs and tails first."""
        asked = sorted(set(ASKED[self.light]) & set(parts), key=lambda part: (part != "eggs", part != "tails", part))
        return tuple(Finding(part, CLASS_OF_LIGHT[self.light], (), ()) for part in asked)


@dataclass(frozen=True)
class NextLook:
    """The look to make next, what it gains and costs in shares of the clutch, and what to look for."""

    chance: Chance
    gain: float
    cost: float
    look_for: str


@dataclass(frozen=True)
class Outlook:
    """What is asked again and again of one belief: the nights ahead and what they are worth, brood by brood."""

    belief: Belief
    evidence: Evidence
    profile: Profile
    worths: tuple[NightWorth, ...]

    @property
    def seen(self) -> Seen:
        """How looks are read."""
        return self.profile.seen

    @cached_property
    def kept(self) -> np.ndarray:
        """Weights of the broods that are not lost by each night, (nights, n)."""
        return self.belief.holding * np.stack([worth.survives for worth in self.worths])

    @cached_property
    def rows(self) -> np.ndarray:
        """Weights times what each night saves, (nights, n)."""
        return self.kept * np.stack([worth.saved for worth in self.worths])

    @cached_property
    def held(self) -> np.ndarray:
        """Weights times what each night saves of what is still with him, (nights, n)."""
        return self.kept * np.stack([worth.held for worth in self.worths])

    @cached_property
    def held_or_free(self) -> np.ndarray:
        """Weights times what each night saves of all that ever hatched, let go long ago or not, (nights, n)."""
        return self.held + self.kept * np.stack([worth.free * worth.gone for worth in self.worths])

    @cached_property
    def free(self) -> np.ndarray:
        """Weights times what each night would save of a clutch that is all let go, (nights, n)."""
        return self.kept * np.array([[worth.free] for worth in self.worths])

    @cached_property
    def best(self) -> float:
        """What the best night saves without another look."""
        return float(self.rows.sum(axis=1).max())


@dataclass(frozen=True)
class Foreseen:
    """What a coming look can find: the parts it asks that are not known yet, and what each brood will show."""

    chance: Chance
    asked: tuple[Finding, ...]
    shown: Glimpse
    ahead: Outlook

    @cached_property
    def features(self) -> tuple[Features, Features]:
        """What the broods will show, of a male who never shows tails and of one who does, with the chance of each."""
        hides, shows = self.ahead.belief.kind
        return features(self.shown, False, hides), features(self.shown, True, shows)

    def sums(self, rows: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return the sums of rows of weights (r, n) by what the broods show, by kind of male."""
        hides, shows = self.features
        return hides.sums(rows), shows.sums(rows)

    @cached_property
    def saved(self) -> tuple[np.ndarray, np.ndarray]:
        """Sums of what each night from that evening on saves, by what the broods show, by kind of male."""
        return self.sums(self.ahead.rows[self.first :])

    @property
    def first(self) -> int:
        """The first night on which he can be caught after the look."""
        return next(i for i, worth in enumerate(self.ahead.worths) if worth.night.date >= self.chance.night)

    def outcomes(self, sums: Sequence[np.ndarray], findings: Sequence[Finding]) -> np.ndarray:
        """Return for each row and outcome of these parts its sum by state, (r, 6, outcomes)."""
        kinds = (contracted(one, findings, bool(shows), self.ahead.seen) for shows, one in enumerate(sums))
        return sum(kinds, np.zeros(()))


def chances_to_look(evidence: Evidence, nights: Sequence[Night], full_darkness: bool = False) -> Iterator[Chance]:
    """Yield the looks that can be made on these nights, in order: at the usual feeding, and in the dark under red.

    One whose hour has passed can still be made at once, the first while the lamps are on, the second until they come
    on. A nest needs `full_darkness` to hatch: no look in the dark there, not under red either.
    """
    now = evidence.now.astimezone(UTC)
    for night in nights:
        for chance, until in _that_evening(night.date, evidence.tank):
            if now < until and (chance.light != "red" or not full_darkness):
                yield replace(chance, at=max(chance.at, now))


def _that_evening(day: date, tank: Tank) -> tuple[tuple[Chance, datetime], ...]:
    """Return the looks of an evening, each with the end of its light."""
    lamps_out = lamps_out_instant(day, tank.zone_info(), tank.lamps_out)
    lamps_on = lamps_on_instant(day, tank.zone_info(), tank.lamps_out, tank.lamps_on)
    return (
        (Chance(day, lamps_out - FED_BEFORE_LAMPS_OUT, "daylight"), lamps_out),
        (Chance(day, lamps_out + DARK_BEFORE_LOOK, "red"), lamps_on),
    )


def foresee(chance: Chance, ahead: Outlook) -> Foreseen:
    """Return what that look can find."""
    belief = ahead.belief
    evening = _same_evening(chance, belief)
    known = {finding.part for finding in evening.evening.findings} if evening and evening.evening else set()
    asked = tuple(finding for finding in chance.findings(ahead.seen.parts()) if finding.part not in known)
    at = evening.at if evening else days_between(belief.origin, chance.at)
    return Foreseen(chance, asked, glimpse_of(at, asked, belief.steps, ahead.seen), ahead)


def _same_evening(chance: Chance, belief: Belief) -> Sight | None:
    """Return the last evening if the look would be one with it: only parts not asked then can say something new."""
    last = belief.sights[-1] if belief.sights else None
    near = last is not None and last.evening and chance.at - last.evening.at.astimezone(UTC) <= ONE_LOOK
    return last if near else None


def gain(foreseen: Foreseen, findings: Sequence[Finding] | None = None) -> float:
    """Return what the look gains in shares of the clutch, by all its parts or by some of them."""
    by_outcome = foreseen.outcomes(foreseen.saved, foreseen.asked if findings is None else findings).sum(axis=1)
    return float(by_outcome.max(axis=0).sum()) - foreseen.ahead.best


def advised(foreseen: Foreseen) -> NextLook | None:
    """Return the look if it gains more than it costs."""
    gained, cost = gain(foreseen), COST[foreseen.chance.light]
    if gained <= cost + AS_GOOD:
        return None
    telling = max(foreseen.asked, key=lambda finding: gain(foreseen, [finding]))
    return NextLook(foreseen.chance, gained, cost, telling.part)
