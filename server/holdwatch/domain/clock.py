"""The development clock: from thermometer readings to the age of a brood in days at the reference temperature.

x(t) = integral of rho(T(u)) du from the spawn, hourly, by the trapezoid rule. By default
rho(T) = Q10 ** ((T - Tref) / 10); where the profile says so, effective degree-days,
rho(T) = max(0, T - T0) / (Tref - T0) (Kamler 2002, Rev. Fish Biol. Fish. 12:79-103).

Every point of the forecast has its own Q10 and its own thermometer offset, and so its own curve. The curves are
smooth in that one number, so a few of them, at Chebyshev nodes, give all the others by interpolation.

Readings the page leaves open, decided here: the last 7 days that have readings are days of 24 h counted back from
the last reading; a point of the hourly grid before the first or after the last reading stands at the set point plus
the median; the share of time covered is of the time between the earliest possible spawn and now.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cached_property
from typing import Any

import numpy as np

from holdwatch.domain.species import Development

HOUR = 1 / 24
LONGEST_GAP_DAYS = 1.0
NEVER_DAYS = 1e4


def days_between(earlier: datetime, later: datetime) -> float:
    """Return the elapsed days between two aware instants, whatever the clocks on the wall did meanwhile."""
    return (later.astimezone(UTC) - earlier.astimezone(UTC)) / timedelta(days=1)


@dataclass(frozen=True)
class Thermometer:
    """Readings as days since an origin and °C, in order of time, with the set point of the tank."""

    at_days: np.ndarray
    celsius: np.ndarray
    set_point_c: float

    @cached_property
    def usual_c(self) -> float:
        """The set point plus the median (reading - set point) of the last 7 days that have readings."""
        if not self.celsius.size:
            return self.set_point_c
        day = np.floor(self.at_days[-1] - self.at_days)
        recent = day <= np.unique(day)[:7][-1]
        return self.set_point_c + float(np.median(self.celsius[recent] - self.set_point_c))

    def at(self, days: np.ndarray) -> np.ndarray:
        """Return the temperature in °C at `days`: linear between readings at most 24 h apart, elsewhere the usual."""
        if self.at_days.size < 2:
            return np.full(days.shape, self.usual_c)
        after = np.clip(np.searchsorted(self.at_days, days), 1, self.at_days.size - 1)
        near = self.at_days[after] - self.at_days[after - 1] <= LONGEST_GAP_DAYS
        inside = (days >= self.at_days[0]) & (days <= self.at_days[-1])
        return np.where(near & inside, np.interp(days, self.at_days, self.celsius), self.usual_c)

    def covered(self, start: float, end: float) -> float:
        """Return the share of the time from `start` to `end` that lies between readings at most 24 h apart."""
        clipped = np.clip(self.at_days, start, end)
        near = np.diff(self.at_days) <= LONGEST_GAP_DAYS
        return float(np.sum(np.diff(clipped)[near]) / (end - start)) if end > start else 0.0


def thermometer(readings: Sequence[tuple[datetime, float]], set_point_c: float, origin: datetime) -> Thermometer:
    """Return the readings in order of time; readings of the same instant count as their mean."""
    days = np.array([days_between(origin, at) for at, _ in readings], dtype=float)
    celsius = np.array([value for _, value in readings], dtype=float)
    at_days, which = np.unique(days, return_inverse=True)
    mean = np.bincount(which, celsius) / np.bincount(which) if days.size else celsius
    return Thermometer(at_days, mean, set_point_c)


@dataclass(frozen=True)
class Clock:
    """Cumulative development of n points: `table` (k, hours) at the nodes, `share` (k, n) of each node in each point.

    Hour 0 is the origin. Between hours and beyond both ends development is linear in time.
    """

    table: np.ndarray
    share: np.ndarray

    def age(self, days: np.ndarray) -> np.ndarray:
        """Return the development in reference days of each point at its own `days` since the origin, shape (n)."""
        before, part = self._place(days)
        low = self._at(before)
        return low + part * (self._at(before + 1) - low)

    def age_of_all(self, days: float) -> np.ndarray:
        """Return the development in reference days of each point at one instant, shape (n)."""
        before, part = self._place(days)
        curve = self.table[:, before] * (1 - part) + self.table[:, before + 1] * part
        return np.einsum("k,kn->n", curve, self.share)

    def when(self, age: np.ndarray) -> np.ndarray:
        """Return the days since the origin at which each point reaches `age` (n), by halving over the hours."""
        low = np.zeros(age.size, dtype=np.intp)
        high = np.full(age.size, self.table.shape[1] - 1)
        while np.any(high - low > 1):
            middle = (low + high) // 2
            reached = self._at(middle) >= age
            high, low = np.where(reached, middle, high), np.where(reached, low, middle)
        start = self._at(low)
        rate = self._at(low + 1) - start
        hours = np.divide(age - start, rate, out=np.full(age.shape, np.inf), where=rate > 0)
        return np.minimum((low + hours) * HOUR, NEVER_DAYS)

    def _place(self, days: Any) -> tuple[Any, Any]:
        hour = np.asarray(days) / HOUR
        before = np.clip(np.floor(hour), 0, self.table.shape[1] - 2).astype(np.intp)
        return before, hour - before

    def _at(self, hour: np.ndarray) -> np.ndarray:
        # One node at a time: rows gathered whole do not fit the cache and take three times as long.
        development = np.zeros(hour.size)
        for curve, share in zip(self.table, self.share, strict=True):
            development += share * np.take(curve, hour)
        return development


def clock(development: Development, temperature_c: np.ndarray, q10: np.ndarray, offset_c: np.ndarray) -> Clock:
    """Return the clock of n points with their own `q10` and thermometer `offset_c` over the hourly temperature."""
    if development.clock == "q10":
        return _q10_clock(development, temperature_c, q10, offset_c)
    return _degree_day_clock(development, temperature_c, offset_c)


def _q10_clock(development: Development, temperature_c: np.ndarray, q10: np.ndarray, offset_c: np.ndarray) -> Clock:
    tens = (temperature_c - development.reference_c) / 10
    log_q10 = np.log(q10)
    nodes = _chebyshev(log_q10, float(np.max(np.abs(tens))))
    table = _cumulative(np.exp(nodes[:, None] * tens))
    return Clock(table, _lagrange(nodes, log_q10) * np.exp(log_q10 * offset_c / 10))


def _degree_day_clock(development: Development, temperature_c: np.ndarray, offset_c: np.ndarray) -> Clock:
    """Linear in the offset while it never gets too cold; else straight between 65 offsets."""
    cold = float(temperature_c.min() + offset_c.min()) < development.zero_c
    nodes = np.linspace(offset_c.min(), offset_c.max() + 1e-9, 65 if cold else 2)
    warmth = np.maximum(0, temperature_c + nodes[:, None] - development.zero_c)
    table = _cumulative(warmth / (development.reference_c - development.zero_c))
    return Clock(table, _hats(nodes, offset_c))


def _cumulative(rate: np.ndarray) -> np.ndarray:
    """Return the trapezoid sums of hourly rates (k, hours), from 0 at the first hour."""
    steps = (rate[:, 1:] + rate[:, :-1]) * (HOUR / 2)
    return np.concatenate([np.zeros((len(rate), 1)), np.cumsum(steps, axis=1)], axis=1)


def _chebyshev(values: np.ndarray, steepest: float) -> np.ndarray:
    """Return nodes over the range of `values`, enough for 1e-10 in exp(steepest * value): error ~ 2 (r/2)^k / k!."""
    middle, reach = (values.max() + values.min()) / 2, (values.max() - values.min()) / 2 + 1e-9
    count = 2
    bound = 2 * (reach * steepest / 2) ** 2 / 2
    while bound > 1e-10 and count < 24:
        count += 1
        bound *= reach * steepest / 2 / count
    return middle + reach * np.cos(np.pi * (np.arange(count) + 0.5) / count)


def _lagrange(nodes: np.ndarray, values: np.ndarray) -> np.ndarray:
    """Return the share of each node in each value, (k, n): barycentric formula (Berrut & Trefethen 2004)."""
    angle = np.pi * (np.arange(nodes.size) + 0.5) / nodes.size
    weight = np.where(np.arange(nodes.size) % 2, -1.0, 1.0) * np.sin(angle)
    apart = values - nodes[:, None]
    apart[apart == 0] = 1e-300
    share = weight[:, None] / apart
    return share / share.sum(axis=0)


def _hats(nodes: np.ndarray, values: np.ndarray) -> np.ndarray:
    """Return the share of each node in each value, shape (k, n), by straight lines between the nodes."""
    place = (values - nodes[0]) / (nodes[1] - nodes[0])
    return np.maximum(0, 1 - np.abs(place - np.arange(nodes.size)[:, None]))
