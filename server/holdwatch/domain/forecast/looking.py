"""The next look: what each look still to come could change about the night to catch, and what each finding would mean.

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
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import cached_property

import numpy as np

from holdwatch.domain.catch import AS_GOOD, Night, Prospect, lamps_out_instant, recommended
from holdwatch.domain.clock import days_between
from holdwatch.domain.forecast.answers import Chances
from holdwatch.domain.forecast.belief import Belief
from holdwatch.domain.forecast.evidence import Evidence, Tank
from holdwatch.domain.forecast.nights import NightChances, NightWorth
from holdwatch.domain.forecast.outcomes import STATES, contracted, outcome_sums
from holdwatch.domain.forecast.sight import Sight, glimpse_of
from holdwatch.domain.looks import (
    CLASS_OF_LIGHT,
    EMPTY,
    ONE_LOOK,
    VALUES,
    Finding,
)
from holdwatch.domain.species import Profile, Seen

FED_BEFORE_LAMPS_OUT = timedelta(hours=2)
DARK_BEFORE_LOOK = timedelta(minutes=30)
ASKED = {
    "daylight": ("mouth", "clutch", "eggs", "tails", "food", "loose_fry"),
    "red": ("mouth", "tails", "loose_fry"),
}
COST = {"daylight": 0.0, "red": 0.004}
LOOKS_FORETOLD = 6


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
class IfSeen:
    """What one finding at one coming look would mean: its chance, the six chances then, and the night to catch."""

    chance: Chance
    part: str
    value: str
    likelihood: float
    chances: Chances
    night: Prospect | None


@dataclass(frozen=True)
class Outlook:
    """What is asked again and again of one belief: the nights ahead and what they are worth, brood by brood."""

    belief: Belief
    worths: tuple[NightWorth, ...]
    seen: Seen

    @cached_property
    def prospects(self) -> tuple[Prospect, ...]:
        """The nights ahead as they are without another look."""
        return tuple(self._prospect(worth) for worth in self.worths)

    def _prospect(self, worth: NightWorth) -> Prospect:
        kept = self.belief.weights * self.belief.kept(worth.days)
        return Prospect(worth.night, float(np.sum(kept * worth.saved)), float(np.sum(kept * worth.saved_with_him)))

    @cached_property
    def rows(self) -> np.ndarray:
        """Weights times what each night saves, then times what it saves with him, by kind of male, (2, 2 nights, n)."""
        kept = [self.belief.weights * self.belief.kept_by_kind(worth.days) for worth in self.worths]
        saved = [held * worth.saved for held, worth in zip(kept, self.worths, strict=True)]
        with_him = [held * worth.saved_with_him for held, worth in zip(kept, self.worths, strict=True)]
        return np.stack([*saved, *with_him], axis=1)


@dataclass(frozen=True)
class Foreseen:
    """What a coming look can find: sums of the night rows and of the chances then, by what the broods will show.

    `asked` are its parts; `sums` (rows, 6 states, 1 + colours, 1 + tails) by kind of male, the last six rows being
    the states at the look; `lost` the chance that he has lost them by then.
    """

    chance: Chance
    asked: tuple[Finding, ...]
    sums: tuple[np.ndarray, np.ndarray]
    lost: float
    nights: tuple[Night, ...]
    first: int

    def outcomes(self, findings: Sequence[Finding], seen: Seen) -> np.ndarray:
        """Return for each row and outcome of these parts its sum by state, (rows, 6, outcomes)."""
        return sum(
            (contracted(sums, findings, bool(shows), seen) for shows, sums in enumerate(self.sums)),
            np.zeros(()),
        )


def outlook(belief: Belief, worths: Sequence[NightWorth], profile: Profile) -> Outlook:
    """Return what the next looks are judged by."""
    return Outlook(belief, tuple(worths), profile.seen)


def chances_to_look(evidence: Evidence, nights: Sequence[Night], full_darkness: bool = False) -> Iterator[Chance]:
    """Yield the looks that can be made on these nights, in order: at the usual feeding, and in the dark under red.

    A nest needs `full_darkness` to hatch: no look in the dark there, not under red either.
    """
    for night in nights:
        for chance in _that_evening(night.date, evidence.tank):
            if chance.at > evidence.now.astimezone(UTC) and (chance.light != "red" or not full_darkness):
                yield chance


def _that_evening(day: date, tank: Tank) -> tuple[Chance, Chance]:
    lamps_out = lamps_out_instant(day, tank.zone_info(), tank.lamps_out)
    return (
        Chance(day, lamps_out - FED_BEFORE_LAMPS_OUT, "daylight"),
        Chance(day, lamps_out + DARK_BEFORE_LOOK, "red"),
    )


def foresee(chance: Chance, ahead: Outlook) -> Foreseen:
    """Return what that look can find."""
    belief = ahead.belief
    days = days_between(belief.origin, chance.at)
    evening = _same_evening(chance, belief)
    known = {finding.part for finding in evening.evening.findings} if evening and evening.evening else set()
    asked = tuple(finding for finding in chance.findings(ahead.seen.parts()) if finding.part not in known)
    shown = glimpse_of(evening.at if evening else days, asked, belief.steps, ahead.seen)
    held = belief.weights * belief.kept_by_kind(days)
    states = held[:, None] * (np.arange(STATES)[:, None] == belief.steps.state(days))
    first = next(i for i, worth in enumerate(ahead.worths) if worth.night.date >= chance.night)
    rows = np.concatenate([ahead.rows, states], axis=1)
    sums = (outcome_sums(rows[0], shown, False), outcome_sums(rows[1], shown, True))
    return Foreseen(chance, asked, sums, 1.0 - float(held.sum()), tuple(w.night for w in ahead.worths), first)


def _same_evening(chance: Chance, belief: Belief) -> Sight | None:
    """Return the last evening if the look would be one with it: only parts not asked then can say something new."""
    last = belief.sights[-1] if belief.sights else None
    near = last is not None and last.evening and chance.at - last.evening.at.astimezone(UTC) <= ONE_LOOK
    return last if near else None


def gain(foreseen: Foreseen, ahead: Outlook, findings: Sequence[Finding] | None = None) -> float:
    """Return what the look gains in shares of the clutch, by all its parts or by some of them."""
    asked = foreseen.asked if findings is None else findings
    by_outcome = foreseen.outcomes(asked, ahead.seen).sum(axis=1)
    nights = len(foreseen.nights)
    best = by_outcome[foreseen.first:nights].max(axis=0).sum()
    return float(best - max(prospect.saved for prospect in ahead.prospects))


def look_ahead(
    ahead: Outlook, evidence: Evidence, catch: NightChances | None, announced: date | None = None
) -> tuple[NextLook | None, tuple[IfSeen, ...]]:
    """Return the first look before the catch that gains more than it costs, if any, and what each finding would mean.

    Findings are told for three evenings and feedings; `announced` is the night already told to people.
    """
    advised: NextLook | None = None
    meanings: list[IfSeen] = []
    nights = [worth.night for worth in ahead.worths]
    for index, chance in enumerate(chances_to_look(evidence, nights, ahead.seen.clutch is not None)):
        foretold, open_still = index < LOOKS_FORETOLD, advised is None and catch is not None and chance.at < catch.at
        if not foretold and not open_still:
            break
        foreseen = foresee(chance, ahead)
        if foretold:
            meanings += _meanings(foreseen, ahead.seen, announced)
        if open_still:
            advised = _advised(foreseen, ahead)
    return advised, tuple(meanings)


def _advised(foreseen: Foreseen, ahead: Outlook) -> NextLook | None:
    gained, cost = gain(foreseen, ahead), COST[foreseen.chance.light]
    if gained <= cost + AS_GOOD:
        return None
    telling = max(foreseen.asked, key=lambda finding: gain(foreseen, ahead, [finding]))
    return NextLook(foreseen.chance, gained, cost, telling.part)


def _meanings(foreseen: Foreseen, seen: Seen, announced: date | None) -> Iterator[IfSeen]:
    for finding in foreseen.asked:
        table = foreseen.outcomes([finding], seen)
        for index, value in enumerate(VALUES[finding.part]):
            lost = foreseen.lost * contracted(_empty(), [finding], False, seen)[0, EMPTY, index]
            yield _meaning(foreseen, finding.part, value, table[:, :, index], float(lost), announced)


def _meaning(
    foreseen: Foreseen, part: str, value: str, sums: np.ndarray, lost: float, announced: date | None
) -> IfSeen:
    by_state = sums[-STATES:].sum(axis=1)
    likelihood = float(by_state.sum()) + lost
    shares = by_state / likelihood
    unspawned, orange, eyed, held_young, releasing, released = shares.tolist()
    chances = Chances(unspawned + orange, eyed, held_young, releasing, released, lost / likelihood)
    saved, count = sums.sum(axis=1) / likelihood, len(foreseen.nights)
    prospects = [
        Prospect(night, float(saved[i]), float(saved[count + i]))
        for i, night in enumerate(foreseen.nights)
        if i >= foreseen.first
    ]
    return IfSeen(foreseen.chance, part, value, likelihood, chances, recommended(prospects, announced))


def _empty() -> np.ndarray:
    """Return the sums of a male who holds nothing, (1, 6, 1, 1)."""
    sums = np.zeros((1, STATES, 1, 1))
    sums[0, EMPTY] = 1.0
    return sums
