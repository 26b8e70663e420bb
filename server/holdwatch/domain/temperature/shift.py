"""How far new readings can move the hatch, without making the forecast anew.

A forecast keeps how much development its median spawn and its median hatch were apart, by the temperatures it was made
from: x = integral of rho(T(u)) du. With other temperatures the same two instants are x' apart, so that the hatch comes
earlier by about (x' - x) / rho(T at the hatch) days. Looks hold the estimate back, so the hatch of the forecast made
anew moves by this or by less.
"""

from collections.abc import Sequence
from datetime import datetime

import numpy as np

from holdwatch.domain.clock import HOUR, days_between, thermometer
from holdwatch.domain.species import Development


def development_days(
    readings: Sequence[tuple[datetime, float]],
    set_point_c: float,
    development: Development,
    start: datetime,
    end: datetime,
) -> float:
    """Return the development between two instants in days at the reference temperature, by the trapezoid rule."""
    days = days_between(start, end)
    steps = max(1, round(days / HOUR))
    celsius = thermometer(readings, set_point_c, start).at(np.linspace(0.0, days, steps + 1))
    return float(np.trapezoid(_rate(development, celsius), dx=days / steps))


def temperature_at(readings: Sequence[tuple[datetime, float]], set_point_c: float, at: datetime) -> float:
    """Return the temperature in °C at an instant, by the forecast's own rule."""
    return float(thermometer(readings, set_point_c, at).at(np.zeros(1))[0])


def hatch_shift_days(before: float, after: float, hatch_c: float, development: Development) -> float:
    """Return by how many days the hatch moves where development until then becomes `after` instead of `before`."""
    rate = float(_rate(development, np.array([hatch_c]))[0])
    if rate <= 0:
        # So cold that nothing develops: any change may move the hatch without limit.
        return 0.0 if before == after else np.inf
    return (before - after) / rate


def _rate(development: Development, celsius: np.ndarray) -> np.ndarray:
    if development.clock == "q10":
        return development.q10 ** ((celsius - development.reference_c) / 10)
    return np.maximum(0, celsius - development.zero_c) / (development.reference_c - development.zero_c)
