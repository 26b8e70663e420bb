"""Looks at the water of tanks: tells phones of it, plans its duty, and asks for forecasts that it may have moved.

Readings may flow in by the minute. A tank's water is looked at every ten minutes at most, phones are told when an hour
is over, and a forecast is asked for where the hatch may have moved by a tenth of a day, once an hour at most.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import sqlalchemy as sa

from ...domain.duties import planned_for_water
from ...domain.species import Profile
from ...domain.temperature import Point, begun_hour, spell_at
from ...records.instants import milliseconds
from ...store import tables
from ..access import departures
from ..derived import put_derived, raise_revision
from ..due import look_at_due
from ..duties import claims_in, keep_plan, read_kept
from ..sync.stored import read_stored, records_about
from .lived_in import LivedIn, lived_in
from .moving import ask_for_moved
from .shown import temperature_body
from .water import read_measured, typed_readings


def watch_water(engine: sa.Engine, profiles: Mapping[str, Profile], now: datetime) -> int:
    """Look at the water of every tank that asks for it; how many there were."""

    def look(db: sa.Connection, row: Any) -> None:
        if _take_request_away(db, row, now):
            _look(db, profiles, row.household_id, row.tank_id, now)

    return look_at_due(engine, tables.water_watch, now, look, lambda db, row: _take_request_away(db, row, now))


def _take_request_away(db: sa.Connection, row: Any, now: datetime) -> bool:
    """Whether it was still there: another worker may have answered it since."""
    raise_revision(db, row.household_id, by=0)
    same = {"household_id": row.household_id, "tank_id": row.tank_id, "due_at": row.due_at}
    statement = sa.update(tables.water_watch).filter_by(**same)
    return db.execute(statement.values(due_at=None, looked_at=milliseconds(now))).rowcount == 1


def _look(
    db: sa.Connection, profiles: Mapping[str, Profile], household_id: str, tank_id: str, now: datetime
) -> None:
    tank = read_stored(db, household_id, [tank_id]).get(tank_id)
    if tank is None or tank.kind != "tank" or tank.value("gone"):
        return
    # An hour that is not over may still turn out to have been another.
    measured = read_measured(db, household_id, tank_id, now).over_at(now)
    water = measured.water(begun_hour(now))
    typed = typed_readings(db, household_id, tank_id, now)
    lived = lived_in(profiles, records_about(db, household_id, tank_id, "fish"))
    zone = tank.value("zone") or "UTC"
    if measured.hours:
        put_derived(db, household_id, "temperature", tank_id, temperature_body(measured, water, lived, zone, now))
    known = sorted((*water.points, *typed))
    _plan(db, household_id, tank_id, known, lived, zone, now)
    ask_for_moved(db, profiles, household_id, tank, known, now)


def _plan(
    db: sa.Connection,
    household_id: str,
    tank_id: str,
    known: Sequence[Point],
    lived: LivedIn | None,
    zone: str,
    now: datetime,
) -> None:
    before = read_kept(db, household_id, tank_id)
    spell = spell_at(known, lived.low_c, lived.high_c, now) if lived else None
    if spell is None and not before:
        return
    told = {key: one.duty for key, one in before.items()}
    standing = [one.duty for one in before.values() if not one.withdrawn]
    claims = tuple(claims_in(records_about(db, household_id, tank_id, "mark"), departures(db, household_id)))
    duties = planned_for_water(tank_id, spell, ZoneInfo(zone), told, standing, claims, now)
    keep_plan(db, household_id, tank_id, before, duties, zone, now)
