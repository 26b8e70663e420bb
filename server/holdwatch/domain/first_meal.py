"""When young take their first meal: once they are in their vessel under light, and their yolk is used up."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta

import numpy as np
from scipy.special import ndtri

POINTS = 256


def cost_quantile(late_costs: float) -> float:
    """Of which chance a date may be late, where late costs so many times what early does: 1 / (1 + c) (newsvendor)."""
    return 1 / (1 + late_costs)


def first_meal_at(
    hatched: Mapping[float, datetime], yolk_days: float, yolk_spread: float, earliest: datetime, chance: float
) -> datetime:
    """The instant, in UTC, before which the first meal comes with that chance: the later of `earliest` and yolk's end.

    `hatched` are quantiles of hatching by their chance, two at least, with straight lines between and beyond them.
    The yolk lasts a lognormal time, of that median in days and that deviation of its log, whenever they hatch.
    """
    middle = (np.arange(POINTS) + 0.5) / POINTS
    zero = min(hatched.values())
    chances = sorted(hatched)
    days = np.array([(hatched[chance] - zero) / timedelta(days=1) for chance in chances])
    hatch = _on_lines(middle, np.array(chances), days)
    yolk = yolk_days * np.exp(yolk_spread * ndtri(middle))
    ends = float(np.quantile(np.add.outer(hatch, yolk), chance))
    return max(earliest, zero + timedelta(days=ends)).astimezone(UTC)


def _on_lines(at: np.ndarray, chances: np.ndarray, days: np.ndarray) -> np.ndarray:
    i = np.clip(np.searchsorted(chances, at), 1, len(chances) - 1)
    slope = (days[i] - days[i - 1]) / (chances[i] - chances[i - 1])
    return days[i - 1] + slope * (at - chances[i - 1])
