"""Which looks do not fit the rest: the chance of each finding as foretold by all the other looks.

A look's tail chance is the sum over the outcomes of its asked parts that are no likelier than the one seen. Under
0.001 it is a conflict; a single part at 0.03 or less is marked as not believed. For every look the points are
weighed by all looks but that one, so the sums over loss are run from both ends and joined at it.

Readings the page leaves open, decided here: a single part is judged by its own tail chance, with its whole look left
out; readings that disagree are judged by their geometric mean beside the plain outcomes; of several looks in conflict
the one least expected is named; a catch is not judged.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from holdwatch.domain.forecast.belief import Belief
from holdwatch.domain.forecast.loss import kinds_of_male
from holdwatch.domain.forecast.sight import Sight, reading
from holdwatch.domain.forecast.steps import Steps
from holdwatch.domain.looks import (
    EMPTY,
    HATCHED,
    ORANGE,
    RELEASING,
    VALUES,
    Finding,
    chances_by_state,
    colour_chances,
    tail_chances,
)
from holdwatch.domain.species import Profile, Seen

CONFLICT_BELOW = 0.001
NOT_BELIEVED_TO = 0.03


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
    """What the other looks foretell at a look: the weight of each brood held, by kind of male, and of all lost."""

    sight: Sight
    held: np.ndarray
    lost: float


def contradictions(belief: Belief, profile: Profile) -> tuple[Conflict | None, tuple[Doubt, ...]]:
    """Return the look in sharpest conflict with the others, if any, and every part that is not believed."""
    conflicts: list[Conflict] = []
    doubts: list[Doubt] = []
    for foretold in _foretold(belief, profile):
        table = _outcomes(foretold, belief.steps, profile)
        findings = _ordered(foretold.sight)
        look = foretold.sight.id
        chance = _tail(table, findings)
        if chance < CONFLICT_BELOW:
            conflicts.append(Conflict(look, chance, tuple((f.part, f.values) for f in findings)))
        tails = ((finding, _tail(_alone(table, axis), [finding])) for axis, finding in enumerate(findings))
        doubts += [Doubt(look, f.part, f.values, tail) for f, tail in tails if tail <= NOT_BELIEVED_TO]
    return min(conflicts, key=lambda conflict: conflict.chance, default=None), tuple(doubts)


def _foretold(belief: Belief, profile: Profile) -> Iterator[Foretold]:
    """Yield each look with the points weighed by all the others, from before it and from after it."""
    prior = belief.ratio * kinds_of_male(profile)[:, None]
    after = list(_after(belief))[::-1]
    lost, kept = np.zeros((1, belief.points)), np.ones((1, belief.points))
    survival: np.ndarray = np.ones(belief.points)
    fate = belief.fate
    for sight, finding, survives, (held_after, empty_after) in zip(
        belief.sights, fate.findings, fate.survivals, after, strict=True
    ):
        lost = lost + kept * (survival - survives)
        if sight.evening:
            held, gone = prior * (kept * held_after), float(np.sum(prior * lost) * empty_after)
            yield Foretold(sight, held / (held.sum() + gone), gone / float(held.sum() + gone))
        lost, kept, survival = lost * sight.empty(), kept * finding, survives
        largest = max(lost.max(), kept.max())
        lost, kept = lost / largest, kept / largest


def _after(belief: Belief) -> Iterator[tuple[np.ndarray, float]]:
    """Yield, from the last look to the first, the chance of all later findings if he held, and if he had lost them."""
    fate = belief.fate
    held, empty = fate.survival[None, :], 1.0
    earlier = (np.ones(belief.points), *fate.survivals)
    for index in reversed(range(len(belief.sights))):
        yield held, empty
        empty = belief.sights[index].empty() * empty
        held = fate.findings[index] * held + (earlier[index] - fate.survivals[index]) * empty
        largest = max(float(held.max()), empty)
        held, empty = held / largest, empty / largest


def _ordered(sight: Sight) -> list[Finding]:
    """Return the findings in the order of the axes of their outcomes: eggs and tails before the rest."""
    findings = sight.evening.findings if sight.evening else ()
    return sorted(findings, key=lambda finding: (finding.part != "eggs", finding.part != "tails"))


def _outcomes(foretold: Foretold, steps: Steps, profile: Profile) -> np.ndarray:
    """Return the chance of every joint outcome, one axis a finding; the last place of each axis is what was read."""
    sight, seen = foretold.sight, profile.seen
    findings = _ordered(sight)
    state = steps.state(sight.at)
    kinds = [
        _by_state_and_points(sight, steps, state, weights, seen, bool(shows))
        for shows, weights in enumerate(foretold.held)
    ]
    table = np.sum(kinds, axis=0)
    sizes = [len(VALUES[finding.part]) + 1 for finding in findings]
    for finding in findings:
        if finding.part not in ("eggs", "tails"):
            rows = _with_reading(chances_by_state(finding.part, finding.light_class, seen).T, finding)
            table = (table[:, :, None] * rows.T[:, None, :]).reshape(6, -1)
    lost = _lost_outcomes(findings, seen) * foretold.lost
    return table.sum(axis=0).reshape(sizes) + lost.reshape(sizes)


def _by_state_and_points(
    sight: Sight, steps: Steps, state: np.ndarray, weights: np.ndarray, seen: Seen, shows: bool
) -> np.ndarray:
    """Return the weights by state and by outcome of eggs and tails, shape (6, outcomes of both)."""
    placed = (state == np.arange(6)[:, None]) * weights
    if sight.eggs:
        eggs = _egg_rows(sight, sight.eggs, steps, state, seen)
        placed = (placed[:, None, :] * eggs).reshape(-1, state.size)
    if sight.tails:
        return (placed @ _tail_rows(sight, sight.tails, steps, state, seen, shows).T).reshape(6, -1)
    return placed.sum(axis=1).reshape(6, -1)


def _egg_rows(sight: Sight, eggs: Finding, steps: Steps, state: np.ndarray, seen: Seen) -> np.ndarray:
    empty = chances_by_state("eggs", eggs.light_class, seen)[EMPTY]
    colour = colour_chances(steps.share_to_silver(sight.at), eggs.light_class, seen)
    holds = (state >= ORANGE) & (state <= RELEASING)
    return _with_reading(np.where(holds, colour, empty[:, None]), eggs)


def _tail_rows(
    sight: Sight, tails: Finding, steps: Steps, state: np.ndarray, seen: Seen, shows: bool
) -> np.ndarray:
    rows = chances_by_state("tails", tails.light_class, seen)[state].T.copy()
    here = np.flatnonzero((state == HATCHED) | (state == RELEASING))
    if shows and here.size:
        rows[:, here] = tail_chances(sight.at - steps.hatch[here], tails.light_class, seen)
    return _with_reading(rows, tails)


def _with_reading(rows: np.ndarray, finding: Finding) -> np.ndarray:
    """Return the chances of each value (values, n) with that of what was read added as the last row."""
    return np.concatenate([rows, reading(rows, finding)[None]])


def _lost_outcomes(findings: Sequence[Finding], seen: Seen) -> np.ndarray:
    outcomes = np.ones(1)
    for finding in findings:
        empty = chances_by_state(finding.part, finding.light_class, seen)[[EMPTY]].T
        outcomes = np.outer(outcomes, _with_reading(empty, finding)[:, 0]).ravel()
    return outcomes


def _alone(table: np.ndarray, axis: int) -> np.ndarray:
    """Return the chances of one finding, summed over the outcomes of the others."""
    inner = tuple(slice(None) if index == axis else slice(-1) for index in range(table.ndim))
    return table[inner].sum(axis=tuple(index for index in range(table.ndim) if index != axis))


def _tail(table: np.ndarray, findings: Sequence[Finding]) -> float:
    """Return the chance of all outcomes no likelier than the one read."""
    read = table[(-1,) * table.ndim]
    plain = table[(slice(-1),) * table.ndim]
    agreed = all(len(set(finding.values)) == 1 for finding in findings)
    return float(plain[plain <= read * (1 + 1e-9)].sum() + (0.0 if agreed else read))
