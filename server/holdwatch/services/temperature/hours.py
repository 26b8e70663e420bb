"""The hours of a tank's thermometers as the database keeps them, in whole thousandths of a degree."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import chain
from typing import Any

import numpy as np
import sqlalchemy as sa

from ...domain.temperature import HOUR_MS, REACH, Hour, Part, hourly, spikes
from ...store import tables
from ...store.upsert import upserting

REACH_MS = round(REACH.total_seconds() * 1000)
PARTS = ("passed", "spikes")
MILLI = 1000


def read_hours(db: sa.Connection, household_id: str, tank_id: str, first: int) -> dict[str, list[Hour]]:
    """Each thermometer of the tank with its hours from number `first` on, in order."""
    one, hour = tables.thermometer, tables.temperature_hour
    joined = sa.and_(hour.c.household_id == one.c.household_id, hour.c.thermometer == one.c.number)
    mine = (one.c.household_id == household_id, one.c.tank_id == tank_id, hour.c.hour >= first)
    query = sa.select(one.c.name, *_columns()).join(hour, joined).where(*mine)
    found: dict[str, list[Hour]] = {}
    for name, *row in db.execute(query.order_by(one.c.number, hour.c.hour)):
        found.setdefault(name, []).append(_hour(row))
    return found


def renew_hours(db: sa.Connection, household_id: str, thermometer: int, at_ms: np.ndarray) -> None:
    """Judge and average anew every hour that readings at these instants, rising, may bear on."""
    for first, last in _stretches(at_ms):
        hours = range((first - REACH_MS) // HOUR_MS, (last + REACH_MS) // HOUR_MS + 1)
        fresh = [hour for hour in _judged(db, household_id, thermometer, hours) if hour.number in hours]
        before = _stored(db, household_id, thermometer, hours)
        rows = [_row(hour) for hour in fresh]
        changed = [row for row in rows if before.get(row["hour"]) != row]
        if changed:
            mine = {"household_id": household_id, "thermometer": thermometer}
            db.execute(upserting(db, tables.temperature_hour), [mine | row for row in changed])


def _stretches(at_ms: np.ndarray) -> Iterable[tuple[int, int]]:
    """The first and last instant of each stretch without a pause that two reaches cannot bridge."""
    ends = np.flatnonzero(np.diff(at_ms) > 2 * REACH_MS)
    firsts, lasts = at_ms[np.r_[0, ends + 1]], at_ms[np.r_[ends, at_ms.size - 1]]
    return zip(firsts.tolist(), lasts.tolist(), strict=True)


def _judged(db: sa.Connection, household_id: str, thermometer: int, hours: range) -> list[Hour]:
    table = tables.temperature_reading
    mine = (table.c.household_id == household_id, table.c.thermometer == thermometer)
    near = table.c.at.between(hours.start * HOUR_MS - REACH_MS, hours.stop * HOUR_MS + REACH_MS)
    rows = db.execute(sa.select(table.c.at, table.c.millidegrees).where(*mine, near).order_by(table.c.at))
    readings = np.fromiter(chain.from_iterable(rows), dtype=np.int64).reshape(-1, 2)
    at_ms, celsius = readings[:, 0], readings[:, 1] / MILLI
    return hourly(at_ms, celsius, spikes(at_ms, celsius))


def _stored(db: sa.Connection, household_id: str, thermometer: int, hours: range) -> dict[int, dict[str, Any]]:
    table = tables.temperature_hour
    mine = (table.c.household_id == household_id, table.c.thermometer == thermometer)
    query = sa.select(*_columns()).where(*mine, table.c.hour.between(hours.start, hours.stop - 1))
    return {row["hour"]: dict(row) for row in db.execute(query).mappings()}


def _columns() -> list[sa.Column]:
    return [column for column in tables.temperature_hour.c if column.name not in ("household_id", "thermometer")]


def _row(hour: Hour) -> dict[str, Any]:
    row: dict[str, Any] = {"hour": hour.number}
    for name, part in zip(PARTS, (hour.passed, hour.spikes), strict=True):
        row |= dict(zip((f"{name}_{what}" for what in ("n", "at", "mean", "low", "high")), _values(part), strict=True))
    return row


def _values(part: Part | None) -> tuple[int | None, ...]:
    if part is None:
        return (0, None, None, None, None)
    return (part.n, part.at_ms, *map(_milli, (part.mean_c, part.low_c, part.high_c)))


def _hour(row: Any) -> Hour:
    number, *values = row
    return Hour(number, _part(*values[:5]), _part(*values[5:]))


def _part(n: int, at_ms: int, *milli: int) -> Part | None:
    return Part(n, at_ms, *(value / MILLI for value in milli)) if n else None


def _milli(celsius: float) -> int:
    return round(celsius * MILLI)
