"""Readings are kept, each once: a thermometer has one value at an instant, and the first one stays."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from itertools import chain
from typing import Any

import numpy as np
import sqlalchemy as sa

from ...store import tables
from ...store.upsert import insert_rows
from ..access import NotUsable
from ..derived import raise_revision
from .hours import renew_hours

NEW, KNOWN, OTHER = range(3)
"""What became of a reading: kept, there already, or refused because another value is there."""
MOST_THERMOMETERS = 20
AHEAD = timedelta(minutes=5)
"""How far ahead of the server's clock that of a device may be."""


@dataclass(frozen=True)
class Thermometer:
    """A thermometer of a tank, and the span of the readings that it has."""

    number: int
    readings: int
    first_at: int
    last_at: int


def keep_readings(
    db: sa.Connection, household_id: str, tank_id: str, name: str, at_ms: np.ndarray, millidegrees: np.ndarray
) -> np.ndarray:
    """Keep the readings of one thermometer that are new; what became of each, in their order.

    Raises NotUsable where the tank has as many thermometers as it may.
    """
    # As in every transaction that writes for a household, its row is locked first.
    raise_revision(db, household_id, by=0)
    known = _thermometer(db, household_id, tank_id, name)
    outcome = _outcome(at_ms, millidegrees, _there(db, household_id, known, at_ms))
    order = np.argsort(at_ms, kind="stable")
    new = order[outcome[order] == NEW]
    if new.size:
        thermometer = known or _make(db, household_id, tank_id, name, at_ms[new])
        _insert(db, household_id, thermometer, at_ms[new], millidegrees[new])
        renew_hours(db, household_id, thermometer.number, at_ms[new])
    return outcome


def _outcome(at_ms: np.ndarray, millidegrees: np.ndarray, there: np.ndarray) -> np.ndarray:
    """Judge by what is there, and for instants that come twice by the first of them; `there` holds rows of both."""
    shown = np.concatenate([there, np.column_stack([at_ms, millidegrees])])
    instants, first, which = np.unique(shown[:, 0], return_index=True, return_inverse=True)
    own = np.arange(len(there), len(shown))
    same = shown[first[which[own]], 1] == millidegrees
    return np.where(first[which[own]] == own, NEW, np.where(same, KNOWN, OTHER))


def _there(db: sa.Connection, household_id: str, known: Thermometer | None, at_ms: np.ndarray) -> np.ndarray:
    nothing = np.zeros((0, 2), dtype=np.int64)
    if known is None or not at_ms.size:
        return nothing
    low, high = max(int(at_ms.min()), known.first_at), min(int(at_ms.max()), known.last_at)
    if low > high:
        return nothing
    table = tables.temperature_reading
    mine = (table.c.household_id == household_id, table.c.thermometer == known.number, table.c.at.between(low, high))
    rows: Iterable[Any] = db.execute(sa.select(table.c.at, table.c.millidegrees).where(*mine))
    return np.fromiter(chain.from_iterable(rows), dtype=np.int64).reshape(-1, 2)


def _thermometer(db: sa.Connection, household_id: str, tank_id: str, name: str) -> Thermometer | None:
    table = tables.thermometer
    query = sa.select(table.c.number, table.c.readings, table.c.first_at, table.c.last_at)
    row = db.execute(query.filter_by(household_id=household_id, tank_id=tank_id, name=name)).one_or_none()
    return Thermometer(*row) if row else None


def _make(db: sa.Connection, household_id: str, tank_id: str, name: str, at_ms: np.ndarray) -> Thermometer:
    table = tables.thermometer
    mine = table.c.household_id == household_id
    count = sa.select(sa.func.count()).where(mine, table.c.tank_id == tank_id)
    if db.execute(count).scalar_one() >= MOST_THERMOMETERS:
        raise NotUsable(f"This tank has {MOST_THERMOMETERS} thermometers already. Use the name of one of them.")
    number = (db.scalar(sa.select(sa.func.max(table.c.number)).where(mine)) or 0) + 1
    made = Thermometer(number, 0, int(at_ms[0]), int(at_ms[-1]))
    row = {"household_id": household_id, "tank_id": tank_id, "name": name, **vars(made), "last_millidegrees": 0}
    db.execute(sa.insert(table).values(row))
    return made


def _insert(
    db: sa.Connection, household_id: str, thermometer: Thermometer, at_ms: np.ndarray, millidegrees: np.ndarray
) -> None:
    number = thermometer.number
    pairs = zip(at_ms.tolist(), millidegrees.tolist(), strict=True)
    insert_rows(db, tables.temperature_reading, [(household_id, number, at, value) for at, value in pairs])
    _count(db, household_id, thermometer, at_ms, int(millidegrees[-1]))


def _count(
    db: sa.Connection, household_id: str, thermometer: Thermometer, at_ms: np.ndarray, last_millidegrees: int
) -> None:
    first_at, last_at = int(at_ms[0]), int(at_ms[-1])
    changed: dict[str, Any] = {
        "readings": thermometer.readings + at_ms.size,
        "first_at": min(thermometer.first_at, first_at),
    }
    if last_at >= thermometer.last_at:
        changed |= {"last_at": last_at, "last_millidegrees": last_millidegrees}
    statement = sa.update(tables.thermometer).filter_by(household_id=household_id, number=thermometer.number)
    db.execute(statement.values(changed))
