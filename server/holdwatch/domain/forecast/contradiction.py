"""Which looks do not fit the rest: the chance of each finding as foretold by all the other looks.

A look's tail chance is the sum over the outcomes of its asked parts that are no likelier than the one seen. Under
0.001 it is a conflict; a single part at 0.03 or less is marked as not believed. For every look the points are
weighed by all looks but that one, so the sums over loss are run from both ends and joined at it.

Readings the page leaves open, decided here: a single part is judged by its own tail chance, with its whole look left
out; readings that disagree are judged by their geometric mean beside the plain outcomes, and not as a part alone, for
they are shown as a disagreement; a *normal* mouth amid clear holding comes out just above 0.03, its chance by the
profile, and is not marked: every thirtieth look in white light is such a slip; of several evenings in conflict the
least expected is named, by the look that made its least expected reading, since the other looks of that evening may
be right; a part is marked on the look under the best light that told of it; a catch is not judged, nor a look about
which the others say nothing, because those before it and those after it exclude each other.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from holdwatch.domain.forecast.belief import Belief
from holdwatch.domain.forecast.loss import kinds_of_male
from holdwatch.domain.forecast.outcomes import ordered, outcome_table
from holdwatch.domain.forecast.sight import Glimpse, Sight
from holdwatch.domain.looks import VALUES, Finding
from holdwatch.domain.species import Profile

CONFLICT_BELOW = 0.001
NOT_BELIEVED_TO = 0.03
ROUNDING = 1e-9


@dataclass(frozen=True)
class Doubt:
    """One part of a look that the other looks hardly foretold, with its tail chance."""

    look: str
    part: str
    values: tuple[str, ...]
    chance: float


@dataclass(frozen=True)
class Conflict:
    """A look that contradicts all the others, with its tail chance and what was seen."""

    look: str
    chance: float
    seen: tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True)
class Foretold:
    """What the other looks foretell at one look.

    `held` (1 or 2, n) is the chance that he still holds each brood, by kind of male when tails were asked anywhere,
    and `lost` that he lost them before; all sum to 1. `findings` are the chances of what was seen if he holds.
    `weights` (n) are the points weighed by all looks but this one, `kept` (n) those of them not lost by the last look.
    """

    sight: Sight
    glimpse: Glimpse
    findings: np.ndarray
    held: np.ndarray
    lost: float
    weights: np.ndarray
    kept: np.ndarray


def contradictions(looks: Iterable[Foretold], profile: Profile) -> tuple[Conflict | None, tuple[Doubt, ...]]:
    """Return the look in sharpest conflict with the others, if any, and every part that is not believed."""
    conflicts: list[Conflict] = []
    doubts: list[Doubt] = []
    for foretold in looks:
        findings = ordered(foretold.sight)
        outcomes = outcome_table(foretold.held, foretold.lost, foretold.sight, foretold.glimpse, profile.seen)
        parts = [Part(finding, _alone(outcomes, axis)) for axis, finding in enumerate(findings)]
        chance = _tail(outcomes, _chance_of_seen(foretold), all(len(f.told()) == 1 for f in findings))
        if chance < CONFLICT_BELOW:
            seen = tuple((finding.part, finding.values) for finding in findings)
            conflicts.append(Conflict(_least_expected(parts), chance, seen))
        doubts += _doubts(parts)
    return min(conflicts, key=lambda conflict: conflict.chance, default=None), tuple(doubts)


class Part(NamedTuple):
    """One part of an evening's look, and the chances that the other looks leave for each of its values."""

    finding: Finding
    chances: np.ndarray

    def chance(self, value: str) -> float:
        """Return the chance of one of its values."""
        return float(self.chances[VALUES[self.finding.part].index(value)])


def _alone(outcomes: np.ndarray, axis: int) -> np.ndarray:
    return outcomes.sum(axis=tuple(other for other in range(outcomes.ndim) if other != axis))


def _least_expected(parts: Iterable[Part]) -> str:
    """Return the id of the look that made the least expected reading of an evening.

    What he took may be the word of a feeding, which is no look, and alone it is never unlikely enough: it comes last.
    """
    readings = ((part, *one) for part in parts for one in zip(part.finding.values, part.finding.looks, strict=True))
    return min((part.finding.part == "food", part.chance(value), look) for part, value, look in readings)[2]


def _doubts(parts: Iterable[Part]) -> Iterator[Doubt]:
    for part in parts:
        finding = part.finding
        if len(finding.told()) == 1:
            chance = _tail(part.chances, part.chance(finding.values[0]), agreed=True)
            if chance <= NOT_BELIEVED_TO:
                yield Doubt(finding.looks[0], finding.part, finding.values, chance)


def _tail(outcomes: np.ndarray, seen: float, agreed: bool) -> float:
    """Return the chance of all outcomes no likelier than the one seen, which is none of them unless people agreed."""
    return float(outcomes[outcomes <= seen * (1 + ROUNDING)].sum()) + (0.0 if agreed else seen)


def _chance_of_seen(foretold: Foretold) -> float:
    return float(np.sum(foretold.held * foretold.findings) + foretold.lost * foretold.sight.empty)


def foretold_by_the_others(belief: Belief, profile: Profile) -> Iterator[Foretold]:
    """Yield each look of which the others say anything, with the points weighed by them, before it and after it."""
    fate = belief.fate
    kinds = kinds_of_male(profile)[:, None] if any(sight.tails for sight in belief.sights) else np.ones((1, 1))
    prior = belief.ratio * kinds
    lost, kept = np.zeros((1, belief.points)), np.ones((1, belief.points))
    still: np.ndarray = np.ones(belief.points)
    for index, after in enumerate(reversed(list(_after(belief)))):
        sight, survives = belief.sights[index], fate.survivals[index]
        lost = lost + kept * (still - survives)
        if sight.evening:
            held, gone = prior * (kept * after.held), (prior * lost).sum(axis=0) * after.empty
            total = float(held.sum() + gone.sum())
            # Nothing is left where hundreds of looks before it and after it exclude each other.
            if total > 0:
                weights, on = (held.sum(axis=0) + gone) / total, (prior * kept * after.kept).sum(axis=0) / total
                seen = (sight, fate.glimpses[index], fate.findings[index])
                yield Foretold(*seen, held / total, float(gone.sum()) / total, weights, on)
        lost, kept, still = lost * sight.empty, kept * fate.findings[index], survives
        largest = max(lost.max(), kept.max())
        lost, kept = lost / largest, kept / largest


class After(NamedTuple):
    """The chance of all later findings, on one scale: if he held until then (k, n), with or without what he lost
    since (`held`, `kept`), and if he had lost them."""

    held: np.ndarray
    kept: np.ndarray
    empty: float


def _after(belief: Belief) -> Iterator[After]:
    """Yield, from the last look to the first, the chance of all later findings."""
    fate = belief.fate
    after = After(fate.survival[None, :], fate.survival[None, :], 1.0)
    earlier = (np.ones(belief.points), *fate.survivals)
    for index in reversed(range(len(belief.sights))):
        yield after
        empty = belief.sights[index].empty * after.empty
        held = fate.findings[index] * after.held + (earlier[index] - fate.survivals[index]) * empty
        largest = max(float(held.max()), empty)
        after = After(held / largest, fate.findings[index] * after.kept / largest, empty / largest)
