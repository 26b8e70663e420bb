"""What a belief says when asked: quantiles of the steps as instants, and the six chances at any instant.

The steps are told over all points, as if there were no loss; the chances count the loss.
"""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import NamedTuple

import numpy as np

from holdwatch.domain.clock import days_between
from holdwatch.domain.forecast.belief import Belief
from holdwatch.domain.forecast.sample import weighted_quantiles

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
    """Return seven quantiles of a step."""
    return Quantiles(*(instant(belief, day) for day in weighted_quantiles(*belief.rising(step), LEVELS).tolist()))


def instant(belief: Belief, days: float) -> datetime:
    """Return the instant `days` after the origin of a belief, in UTC."""
    return belief.origin.astimezone(UTC) + timedelta(days=days)


def chances_at(belief: Belief, instants: Iterable[datetime]) -> tuple[Chances, ...]:
    """Return the six chances at each of some instants, none of them before the last look.

    A brood that is held is not lost by a chance in which its own part and that of the instant are factors (see
    `Survival`). So the parts of all broods that have taken a step by an instant are summed once for all instants.
    """
    days = np.array([days_between(belief.origin, at) for at in instants])
    holding, survival = belief.holding, belief.survival
    early, later = survival.since(days)
    spawned, silver, hatched, released = (
        early * _taken(belief, step, holding * survival.early, days)
        + later * _taken(belief, step, holding * survival.later, days)
        for step in ("spawn", "silver", "hatch", "released")
    )
    unspawned = holding.sum() - _taken(belief, "spawn", holding, days)
    begun, ended = (
        _taken(belief, step, holding * survival.at_release, days) for step in ("released", "released_last")
    )
    held = (unspawned + spawned - silver, silver - hatched, hatched - released, begun - ended, ended)
    states = np.maximum(0.0, np.stack(held))
    lost = np.maximum(0.0, 1 - states.sum(axis=0))
    return tuple(Chances(*row) for row in np.concatenate([states, lost[None]]).T.tolist())


def _taken(belief: Belief, step: str, shares: np.ndarray, days: np.ndarray) -> np.ndarray:
    """Return the sum of the shares (n) of the broods that have taken a step by each of these days."""
    order = belief.steps.orders[step]
    sums = np.concatenate([np.zeros(1), np.cumsum(shares[order])])
    return sums[np.searchsorted(getattr(belief.steps, step)[order], days, side="right")]
