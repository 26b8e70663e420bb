"""What a belief says when asked: quantiles of the steps as instants, and the six chances at any instant.

The steps are told over all points, as if there were no loss; the chances count the loss.
"""

from datetime import UTC, datetime, timedelta
from typing import NamedTuple

import numpy as np

from holdwatch.domain.clock import days_between
from holdwatch.domain.forecast.belief import Belief

LEVELS = (0.05, 0.10, 0.25, 0.50, 0.75, 0.90, 0.95)


class Quantiles(NamedTuple):
    """Seven instants before which a step has happened with a chance of 5, 10, 25, 50, 75, 90 and 95 %."""

    q05: datetime
    q10: datetime
    q25: datetime
    q50: datetime
    q75: datetime
    q90: datetime
    q95: datetime


class Chances(NamedTuple):
    """The chances of the six states at one instant; they sum to 1."""

    eggs: float
    eyed: float
    held_young: float
    releasing: float
    released: float
    lost: float


def quantiles(belief: Belief, step: str) -> Quantiles:
    """Return seven quantiles of a step, by straight lines between the middles of the sorted points' weights."""
    days = getattr(belief.steps, step)
    order = np.argsort(days, kind="stable")
    weights = belief.weights[order]
    middles = np.cumsum(weights) - weights / 2
    return Quantiles(*(instant(belief, float(day)) for day in np.interp(LEVELS, middles, days[order])))


def instant(belief: Belief, days: float) -> datetime:
    """Return the instant `days` after the origin of a belief, in UTC."""
    return belief.origin.astimezone(UTC) + timedelta(days=days)


def chances_at(belief: Belief, at: datetime) -> Chances:
    """Return the six chances at an instant not before the last look."""
    days = days_between(belief.origin, at)
    return chances_of(belief.steps.state(days), belief.weights * belief.kept(days))


def chances_of(state: np.ndarray, kept: np.ndarray) -> Chances:
    """Return the six chances from the state of each point and its weight that is not lost."""
    unspawned, orange, eyed, held_young, releasing, released = np.bincount(state, kept, minlength=6).tolist()
    lost = max(0.0, 1 - float(kept.sum()))
    return Chances(unspawned + orange, eyed, held_young, releasing, released, lost)
