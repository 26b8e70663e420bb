"""How far new readings can move the hatch, without making the forecast anew.

A forecast keeps how much development its median spawn and its median hatch were apart, by the temperatures it was made
from: x = integral of rho(T(u)) du. With other temperatures the same two instants are x' apart, so that the hatch comes
earlier by about (x' - x) / rho(T at the hatch) days. Looks hold the estimate back, so the hatch of the forecast made
anew moves by this or by less.
"""

from collections.abc import Sequence
from datetime import datetime

import numpy as np

from holdwatch.domain.clock import HOUR, clock, days_between, thermometer
from holdwatch.domain.species import Development


def development_days(
    readings: Sequence[tuple[datetime, float]],
    set_point_c: float,
    development: Development,
    start: datetime,
    end: datetime,
) -> float:
    """Return the development between two instants in days at the reference temperature, by the forecast's own clock."""
    days = days_between(start, end)
    hours = np.arange(np.ceil(max(days, 0.0) / HOUR) + 2) * HOUR
    return _developed(development, thermometer(readings, set_point_c, start).at(hours), days)


def temperature_at(readings: Sequence[tuple[datetime, float]], set_point_c: float, at: datetime) -> float:
    """Return the temperature in °C at an instant, by the forecast's own rule."""
    return float(thermometer(readings, set_point_c, at).at(np.zeros(1))[0])


def hatch_shift_days(before: float, after: float, hatch_c: float, development: Development) -> float:
    """Return by how many days the hatch moves where development until then becomes `after` instead of `before`."""
    rate = _developed(development, np.full(2, hatch_c), 1.0)
    if rate <= 0:
        # So cold that nothing develops: any change may move the hatch without limit.
        return 0.0 if before == after else np.inf
    return (before - after) / rate


def _developed(development: Development, celsius: np.ndarray, days: float) -> float:
    """Return the development in so many days of hourly temperatures (hours), at the profile's own Q10."""
    ticking = clock(development, celsius, np.array([development.q10]), np.zeros(1))
    return float(ticking.age_of_all(days)[0])
