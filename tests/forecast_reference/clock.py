"""The development clock: reference days gone by, on an hourly grid by the trapezoid rule."""

from dataclasses import dataclass

import numpy as np

from . import numbers
from .evenings import lamps_outs
from .evidence import Brood

HOUR = 1.0 / 24.0
NODES = 401
UNREADY_DAYS = 120.0


@dataclass(frozen=True)
class DegreeDays:
    """Effective degree-days (Kamler 2002) in the place of Q10: rate = max(0, T - zero_c) / (reference - zero_c)."""

    zero_c: float


@dataclass(frozen=True)
class Clock:
    """Cumulative reference days (nodes, hours) for nodes of ln Q10, or of the offset where degree-days are used.

    Of a species that hatches after dark also the instants of lamps-out, of any other none.
    """

    start: float
    nodes: np.ndarray
    table: np.ndarray
    degree_days: DegreeDays | None
    lamps_outs: np.ndarray


def fallback_c(brood: Brood) -> float:
    """Temperature, deg C, where no readings reach: set point plus the median deviation of the last 7 days with any."""
    set_point = brood.tank["set_point_c"]
    days_back = [int((brood.temperatures[-1][0] - at) // 1) for at, _ in brood.temperatures]
    last_seven = sorted(set(days_back))[:7]
    deviations = [c - set_point for (_, c), day in zip(brood.temperatures, days_back, strict=True) if day in last_seven]
    return set_point + (float(np.median(deviations)) if deviations else 0.0)


def temperature_c(brood: Brood, instants: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Temperature, deg C, at each instant, and whether it lies between readings at most 24 h apart."""
    temperature = np.full(len(instants), fallback_c(brood))
    covered = np.zeros(len(instants), bool)
    for (at, c), (next_at, next_c) in zip(brood.temperatures, brood.temperatures[1:], strict=False):
        if next_at - at <= numbers.BRIDGED_GAP_DAYS + 1e-9:
            inside = (instants >= at) & (instants <= next_at)
            temperature[inside] = np.interp(instants[inside], [at, next_at], [c, next_c])
            covered |= inside
    return temperature, covered


def offset_spread_c(brood: Brood) -> float:
    """Spread, deg C, of the thermometer's offset: smaller if half of the hours since the earliest spawn are covered."""
    hours = np.arange(np.ceil(brood.earliest / HOUR), np.floor(brood.now / HOUR) + 1) * HOUR
    covered = temperature_c(brood, hours)[1]
    return numbers.OFFSET_C_COVERED if len(hours) and covered.mean() >= 0.5 else numbers.OFFSET_C_UNCOVERED


def make_clock(brood: Brood, degree_days: DegreeDays | None = None) -> Clock:
    """The clock's table from two days before the earliest spawn or first reading to two days after now."""
    first = min([brood.earliest, *(at for at, _ in brood.temperatures[:1])]) - 2.0
    hours = np.arange(np.floor(first / HOUR), np.ceil((brood.now + 2.0) / HOUR) + 1)
    temperature, reference_c = temperature_c(brood, hours * HOUR)[0], brood.species.reference_c
    if degree_days:
        nodes = np.linspace(-6, 6, NODES) * numbers.OFFSET_C_UNCOVERED
        excess = np.maximum(0.0, temperature + nodes[:, None] - degree_days.zero_c)
        rate = excess / (reference_c - degree_days.zero_c)
    else:
        nodes = np.log(numbers.Q10_MEDIAN) + np.linspace(-6, 6, NODES) * numbers.Q10_LOG_SPREAD
        rate = np.exp(nodes[:, None] * (temperature - reference_c) / 10.0)
    steps = HOUR * (rate[:, 1:] + rate[:, :-1]) / 2.0
    table = np.concatenate([np.zeros((NODES, 1)), np.cumsum(steps, axis=1)], axis=1)
    return Clock(hours[0] * HOUR, nodes, table, degree_days, _evenings(brood, first))


def _evenings(brood: Brood, first: float) -> np.ndarray:
    """Lamps-outs from two days before the earliest spawn on, for as long as any egg may stay unready."""
    if not brood.species.hatches_after_dark():
        return np.empty(0)
    return lamps_outs(brood.tank, first, brood.now + UNREADY_DAYS)


@dataclass(frozen=True)
class Pace:
    """Each point's place between the clock's nodes, and the factor of its thermometer offset."""

    node: np.ndarray
    weight: np.ndarray
    factor: np.ndarray


def pace(clock: Clock, log_q10: np.ndarray, offset_c: np.ndarray) -> Pace:
    """The pace of points (n,).

    rate(T + offset) = Q10^(offset/10) rate(T), so only Q10 needs nodes; with degree-days only the offset does.
    """
    parameter = offset_c if clock.degree_days else log_q10
    factor = np.ones_like(offset_c) if clock.degree_days else np.exp(log_q10 * offset_c / 10.0)
    place = (parameter - clock.nodes[0]) / (clock.nodes[1] - clock.nodes[0])
    node = np.clip(place.astype(int), 0, NODES - 2)
    return Pace(node, place - node, factor)


def _at_hour(clock: Clock, points: Pace, hour: np.ndarray) -> np.ndarray:
    low, high = clock.table[points.node, hour], clock.table[points.node + 1, hour]
    return low + points.weight * (high - low)


def reading(clock: Clock, points: Pace, instant: np.ndarray | float) -> np.ndarray:
    """Reference days (n,) on each point's clock at an instant; beyond the table at the pace of its last hour."""
    place = (np.broadcast_to(instant, points.node.shape) - clock.start) / HOUR
    hour = np.clip(np.floor(place).astype(int), 0, clock.table.shape[1] - 2)
    low, high = _at_hour(clock, points, hour), _at_hour(clock, points, hour + 1)
    return points.factor * (low + (place - hour) * (high - low))


def instant_of(clock: Clock, points: Pace, value: np.ndarray) -> np.ndarray:
    """The instant (n,) at which each point's clock reads value, by bisection over the hours: the inverse of reading."""
    target = value / points.factor
    low = np.zeros(len(target), int)
    high = np.full(len(target), clock.table.shape[1] - 2)
    while np.any(low < high):
        middle = (low + high + 1) // 2
        before = _at_hour(clock, points, middle) <= target
        low, high = np.where(before, middle, low), np.where(before, high, middle - 1)
    at_low, at_next = _at_hour(clock, points, low), _at_hour(clock, points, low + 1)
    return clock.start + HOUR * (low + (target - at_low) / (at_next - at_low))
