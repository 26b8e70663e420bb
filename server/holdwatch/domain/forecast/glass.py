"""The verdict at the glass: what each finding of the next looks would mean, told before it is made.

A phone without a connection only looks it up. It is the forecast after that look: nights and chances as of its instant,
so that young who left before it count for nothing.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

import numpy as np

from holdwatch.domain.catch import Night, Prospect, recommended
from holdwatch.domain.clock import days_between
from holdwatch.domain.forecast.answers import Chances
from holdwatch.domain.forecast.looking import (
    Chance,
    Foreseen,
    NextLook,
    Outlook,
    advised,
    chances_to_look,
    foresee,
)
from holdwatch.domain.forecast.nights import NightChances, gone_before
from holdwatch.domain.forecast.outcomes import STATES, contracted
from holdwatch.domain.looks import EMPTY, VALUES

LOOKS_FORETOLD = 6


@dataclass(frozen=True)
class IfSeen:
    """What one finding at one coming look would mean: its chance, the six chances then, and the night to catch."""

    chance: Chance
    part: str
    value: str
    likelihood: float
    chances: Chances
    night: Prospect | None


def look_ahead(
    ahead: Outlook, catch: NightChances | None, announced: date | None = None
) -> tuple[NextLook | None, tuple[IfSeen, ...]]:
    """Return the first look before the catch that gains more than it costs, if any, and what each finding would mean.

    Findings are told for three evenings and feedings; `announced` is the night already told to people.
    """
    next_look: NextLook | None = None
    foretold: list[IfSeen] = []
    nights = [worth.night for worth in ahead.worths]
    for index, chance in enumerate(chances_to_look(ahead.evidence, nights, ahead.seen.clutch is not None)):
        to_tell = index < LOOKS_FORETOLD
        to_judge = next_look is None and catch is not None and chance.at < catch.at
        if not to_tell and not to_judge:
            break
        foreseen = foresee(chance, ahead)
        if to_tell:
            foretold += meanings(foreseen, announced)
        if to_judge:
            next_look = advised(foreseen)
    return next_look, tuple(foretold)


def meanings(foreseen: Foreseen, announced: date | None = None) -> Iterator[IfSeen]:
    """Yield what each value of each part that would be asked means."""
    ahead = foreseen.ahead
    rows = _rows(foreseen)
    lost = max(0.0, 1.0 - float(np.sum(rows[-STATES:])))
    nights = tuple(worth.night for worth in ahead.worths[foreseen.first :])
    sums = foreseen.sums(rows)
    for finding in foreseen.asked:
        table = foreseen.outcomes(sums, [finding])
        unheld = lost * contracted(_empty(), [finding], False, ahead.seen)[0, EMPTY]
        for index, value in enumerate(VALUES[finding.part]):
            after = table[:, :, index], float(unheld[index]), nights, announced
            yield _meaning(foreseen.chance, finding.part, value, *after)


def _rows(foreseen: Foreseen) -> np.ndarray:
    """Return the weights of what the nights save, of what they save with him, and of the states at the look, (r, n).

    As `NightWorth` has it, with what is gone before the look counted for nothing: held + free (gone - let go).
    """
    ahead, first, at = foreseen.ahead, foreseen.first, foreseen.chance.at
    belief, days = ahead.belief, days_between(ahead.belief.origin, at)
    gone = gone_before(at, ahead.evidence.tank, ahead.profile)
    let_go = belief.steps.share_let_go(days_between(belief.origin, gone))
    nights, still = len(ahead.worths) - first, let_go < 1
    rows = np.empty((2 * nights + STATES, belief.points))
    saved, with_him, states = np.split(rows, [nights, 2 * nights])
    np.multiply(ahead.free[first:], -let_go, out=saved)
    saved += ahead.held_or_free[first:]
    saved *= still
    np.multiply(ahead.held[first:], still, out=with_him)
    kept = belief.holding * belief.survival.at(days)
    np.multiply(np.arange(STATES)[:, None] == belief.steps.state(days), kept, out=states)
    return rows


def _meaning(
    chance: Chance,
    part: str,
    value: str,
    sums: np.ndarray,
    lost: float,
    nights: tuple[Night, ...],
    announced: date | None,
) -> IfSeen:
    by_state = sums[-STATES:].sum(axis=1)
    likelihood = float(by_state.sum()) + lost
    unspawned, orange, eyed, held_young, releasing, released = (by_state / likelihood).tolist()
    chances = Chances(unspawned + orange, eyed, held_young, releasing, released, lost / likelihood)
    saved = (sums.sum(axis=1) / likelihood).tolist()
    rows = zip(nights, saved[: len(nights)], saved[len(nights) :], strict=False)
    best = recommended([Prospect(night, share, with_him) for night, share, with_him in rows], announced)
    return IfSeen(chance, part, value, likelihood, chances, best)


def _empty() -> np.ndarray:
    """Return the sums of a male who holds nothing, (1, 6, 1, 1)."""
    sums = np.zeros((1, STATES, 1, 1))
    sums[0, EMPTY] = 1.0
    return sums
