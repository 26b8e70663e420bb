"""Local times of the tank as instants, and its evenings: when the lamps go out and on again."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np


@dataclass(frozen=True)
class Evening:
    """The dark that begins on a date, from lamps-out to lamps-on; instants in days since 1970-01-01 UTC."""

    date: str
    lamps_out: float
    lamps_on: float


def local_instant(day: date, clock: time, zone: ZoneInfo) -> float:
    """The instant of a local time; fold 0 takes the offset before a gap, and the first of two."""
    return datetime.combine(day, clock, zone).astimezone(UTC).timestamp() / 86400.0


def _first_after(clock: time, after: float, day: date, zone: ZoneInfo) -> float:
    """The first instant with this local time after an instant, searched from the day before."""
    candidates = (local_instant(day + timedelta(days=n), clock, zone) for n in range(-1, 4))
    return next(at for at in candidates if at > after + 1e-9)


def evening(tank: dict, day: date) -> Evening:
    """The dark of one date: lamps-out is the first such local time after that date's noon."""
    zone = ZoneInfo(tank["zone"])
    clocks = {key: time.fromisoformat(tank[key]) for key in ("lamps_out", "lamps_on")}
    out = _first_after(clocks["lamps_out"], local_instant(day, time(12), zone), day, zone)
    return Evening(day.isoformat(), out, _first_after(clocks["lamps_on"], out, day, zone))


def local_date(tank: dict, instant: float) -> date:
    """The date in the tank's zone."""
    return datetime.fromtimestamp(instant * 86400.0, ZoneInfo(tank["zone"])).date()


def lamps_outs(tank: dict, first: float, last: float) -> np.ndarray:
    """The instants of lamps-out of every date from the one of first to the one of last."""
    day, end = local_date(tank, first), local_date(tank, last)
    return np.array([evening(tank, day + timedelta(days=n)).lamps_out for n in range((end - day).days + 1)])
