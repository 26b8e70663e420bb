"""The nursery's arithmetic once more, written from the publications alone and without a look at the code it checks.

Slow and plain on purpose: water is changed day by day, food is drawn 200,000 times.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta

import numpy as np

ZERO_CELSIUS = 273.15
FRESH_BELOW_PSU = 1.0
DRAWS = 200_000
SLICES = 4_000
DAY = timedelta(days=1)


def clegg_whitfield_pk(temperature_c: float, salinity_psu: float) -> float:
    """pK of ammonium on the free scale, mol/kg H2O: Clegg & Whitfield 1995, Geochim. Cosmochim. Acta 59:2403-2421."""
    t, s = temperature_c + ZERO_CELSIUS, salinity_psu
    in_pure_water = 9.244605 - 2729.33 * (1 / 298.15 - 1 / t)
    by_salinity = {
        0.5: 0.0500616 - 9.412696 / t - 2.029559e-7 * t**2,
        1.0: -0.0142372 + 1.46041e-5 * t + 3.730005 / t,
        2.0: 7.1047e-5 - 0.0229021 / t,
        3.0: -5.521278e-7 + 1.95413e-4 / t,
    }
    return in_pure_water + math.fsum(factor * s**power for power, factor in by_salinity.items())


def emerson_pk(temperature_c: float) -> float:
    """pK of ammonium in fresh water: Emerson et al. 1975, J. Fish. Res. Board Can. 32:2379-2383."""
    return 0.09018 + 2729.92 / (temperature_c + ZERO_CELSIUS)


def ionising(ph: float, pk: float) -> float:
    """The share that is NH3 at this pH."""
    return 1 / (1 + 10 ** (pk - ph))


def free_share_by_hand(ph: float, temperature_c: float, salinity_psu: float) -> float:
    """The share of total ammonia that is NH3, in salt or in fresh water."""
    if salinity_psu < FRESH_BELOW_PSU:
        return ionising(ph, emerson_pk(temperature_c))
    return ionising(ph, clegg_whitfield_pk(temperature_c, salinity_psu))


def changed_daily(
    start_mg_l: float, excreted_mg: float, litres: float, share: float, days: int
) -> list[tuple[float, float]]:
    """Each day's concentration just before its change and just after, one day after the other."""
    days_seen, concentration = [], start_mg_l
    for _ in range(days):
        before = concentration + excreted_mg / litres
        concentration = before * (1 - share)
        days_seen.append((before, concentration))
    return days_seen


def carried_on(
    before_mg_l: float,
    excreted_mg_a_day: float,
    litres: float,
    steps_a_day: int,
    days: int,
    changes: Mapping[int, Sequence[float]],
) -> float:
    """The concentration after `days`, with what comes in spread over small steps and each change at its step."""
    concentration = before_mg_l
    for step in range(days * steps_a_day):
        for share in changes.get(step, ()):
            concentration -= concentration * share
        concentration += excreted_mg_a_day / steps_a_day / litres
    return concentration


def hatching_at(hatched: Mapping[float, datetime], shares: np.ndarray, since: datetime) -> np.ndarray:
    """Days from `since` to these quantiles of the hatching; beyond the known ones the outermost slope goes on."""
    levels = sorted(hatched)
    days = [(hatched[level] - since) / DAY for level in levels]
    found = np.interp(shares, levels, days)
    first_slope = (days[1] - days[0]) / (levels[1] - levels[0])
    last_slope = (days[-1] - days[-2]) / (levels[-1] - levels[-2])
    found = np.where(shares < levels[0], days[0] - (levels[0] - shares) * first_slope, found)
    return np.where(shares > levels[-1], days[-1] + (shares - levels[-1]) * last_slope, found)


def drawn_meals(
    hatched: Mapping[float, datetime], yolk_days: float, yolk_spread: float, earliest: datetime, seed: int
) -> np.ndarray:
    """Days from `earliest` to the first meal, DRAWS times by Monte Carlo."""
    rng = np.random.default_rng(seed)
    hatching = hatching_at(hatched, rng.random(DRAWS), earliest)
    yolk = yolk_days * np.exp(yolk_spread * rng.standard_normal(DRAWS))
    return np.maximum(0.0, hatching + yolk)


def summed_meal(
    hatched: Mapping[float, datetime], yolk_days: float, yolk_spread: float, earliest: datetime, chance: float
) -> float:
    """Days from `earliest` to the quantile `chance`, by halving an interval of the summed distribution function."""
    hatching = hatching_at(hatched, (np.arange(SLICES) + 0.5) / SLICES, earliest)
    error_function = np.frompyfunc(math.erf, 1, 1)

    def chance_by(day: float) -> float:
        left = np.maximum(day - hatching, 1e-300)
        scores = np.log(left / yolk_days) / yolk_spread
        return float(np.mean(0.5 + 0.5 * error_function(scores / math.sqrt(2)).astype(float)))

    low, high = float(hatching.min()), float(hatching.max()) + yolk_days * math.exp(9 * yolk_spread)
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if chance_by(middle) < chance else (low, middle)
    return max(0.0, (low + high) / 2)
