"""Which looks do not fit the rest: the chance of each finding as foretold by all the other looks.

A look's tail chance is the sum over the outcomes of its asked parts that are no likelier than the one seen. Under
0.001 it is a conflict; a single part at 0.03 or less is marked as not believed. For every look the points are
weighed by all looks but that one, so the sums over loss are run from both ends and joined at it.

Readings the page leaves open, decided here: a single part is judged by its own tail chance, with its whole look left
out; readings that disagree are judged by their geometric mean beside the plain outcomes, and not as a part alone, for
they are shown as a disagreement; a *normal* mouth amid clear holding comes out just above 0.03, its chance by the
profile, and is not marked: every thirtieth look in white light is such a slip; of several looks in conflict the one
least expected is named; a catch is not judged.
"""

from collections.abc import Iterable, Iterator, Sequence
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
        sight, findings = foretold.sight, ordered(foretold.sight)
        outcomes = outcome_table(foretold.held, foretold.lost, sight, foretold.glimpse, profile.seen)
        chance = _tail(outcomes, _chance_of_seen(foretold), all(len(f.told()) == 1 for f in findings))
        if chance < CONFLICT_BELOW:
            conflicts.append(Conflict(sight.id, chance, tuple((f.part, f.values) for f in findings)))
        doubts += _doubts(sight, findings, outcomes)
    return min(conflicts, key=lambda conflict: conflict.chance, default=None), tuple(doubts)


def _doubts(sight: Sight, findings: Sequence[Finding], outcomes: np.ndarray) -> Iterator[Doubt]:
    for axis, finding in enumerate(findings):
        alone = outcomes.sum(axis=tuple(other for other in range(outcomes.ndim) if other != axis))
        if len(finding.told()) == 1:
            chance = _tail(alone, float(alone[VALUES[finding.part].index(finding.values[0])]), agreed=True)
            if chance <= NOT_BELIEVED_TO:
                yield Doubt(sight.id, finding.part, finding.values, chance)


def _tail(outcomes: np.ndarray, seen: float, agreed: bool) -> float:
    """Return the chance of all outcomes no likelier than the one seen, which is none of them unless people agreed."""
    return float(outcomes[outcomes <= seen * (1 + ROUNDING)].sum()) + (0.0 if agreed else seen)


def _chance_of_seen(foretold: Foretold) -> float:
    return float(np.sum(foretold.held * foretold.findings) + foretold.lost * foretold.sight.empty)


def foretold_by_the_others(belief: Belief, profile: Profile) -> Iterator[Foretold]:
    """Yield each look with the points weighed by all the others, from before it and from after it."""
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
