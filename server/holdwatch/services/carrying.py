"""What no phone holds is carried over from the database that a copy takes the place of.

Phones bring back the records that they hold. They hold neither who may come in, nor values that others replaced, nor
what sensors and files said of the water.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

import numpy as np
import sqlalchemy as sa

from ..records.instants import milliseconds
from ..records.merge import Stamped, canonical, merge
from ..store import tables
from ..store.upsert import inserting, upserting
from .derived import raise_revision
from .noting import note
from .recomputing import ask_for
from .sync.history import Overruled, history_row
from .sync.stored import Stored, read_stored, write_stored
from .temperature.keeping import keep_readings
from .watched_water import look_at_water

# Their rows are made once, and what changes in them is of no use to anybody who must sign in anew.
MADE_ONCE = (tables.device_session, tables.issued_forecast, tables.photo)
CHUNK = 500


def carry_over(old: sa.Connection, new: sa.Connection, now: datetime) -> None:
    """Carry it from `old`, which stands and is sound, to `new`, a copy of an earlier state of the same database."""
    _add_missing(old, new, tables.household)
    _carry_people(old, new, now)
    _put(new, tables.reminder_wish, _all(old, tables.reminder_wish))
    for table in MADE_ONCE:
        _add_missing(old, new, table)
    _carry_overruled(old, new, now)
    _carry_readings(old, new, now)
    # Those that were revoked since stay so.
    _put(new, tables.reading_token, _all(old, tables.reading_token))


def _carry_people(old: sa.Connection, new: sa.Connection, now: datetime) -> None:
    """Who is in the household, by which password and as what: as it stood last."""
    person = tables.person
    before, rows = _all(new, person), _all(old, person)
    # A sign-in name may have gone from one to another, and never may two have it.
    new.execute(sa.update(person).values(login=sa.literal("set aside ") + person.c.person_id))
    _put(new, person, rows)
    known, taken = {_key(person, row) for row in rows}, {row["login"] for row in rows}
    for row in before:
        if _key(person, row) not in known:
            gone = {"removed_at": milliseconds(now), "login": f"removed {row['person_id']}", "password_hash": ""}
            _put(new, person, [{**row, **(gone if row["login"] in taken else {})}])


def _carry_overruled(old: sa.Connection, new: sa.Connection, now: datetime) -> None:
    """Values that were replaced since, with the records that they stood in: else what was replaced would win anew."""
    table = tables.history
    there = {_key(table, row) for row in _all(new, table)}
    missing = defaultdict(list)
    for row in _all(old, table):
        if _key(table, row) not in there:
            missing[row["household_id"]].append(row)
    for household_id, rows in missing.items():
        ids = sorted({row["record_id"] for row in rows})
        for first in range(0, len(ids), CHUNK):
            _carry_records(old, new, household_id, ids[first : first + CHUNK], now)
        _ignoring(new, table, rows)


def _carry_records(
    old: sa.Connection, new: sa.Connection, household_id: str, ids: Sequence[str], now: datetime
) -> None:
    theirs, ours = read_stored(old, household_id, ids), read_stored(new, household_id, ids)
    revision = raise_revision(new, household_id, len(theirs))
    merged = []
    for number, (record_id, record) in enumerate(theirs.items(), start=revision + 1):
        here = ours.get(record_id, replace(record, values={}, marks={}, concurrent={}))
        _ignoring(new, tables.history, _losers(household_id, here, record, number))
        merged.append(_joined(here, record, number))
    write_stored(new, household_id, merged)
    note(new, household_id, merged)
    ask_for(new, household_id, merged, set(), now)


def _joined(one: Stored, other: Stored, revision: int) -> Stored:
    merged = merge(one.fields, other.fields)
    values = {name: field.value for name, field in merged.items()}
    marks = {name: (field.stamp, field.was, field.author, revision) for name, field in merged.items()}
    concurrent = dict.fromkeys([*one.concurrent, *other.concurrent], revision)
    return replace(one, values=values, marks=marks, concurrent=concurrent, revision=revision)


def _losers(household_id: str, one: Stored, other: Stored, revision: int) -> list[dict[str, Any]]:
    """What stands in either and not in both joined."""
    stands = merge(one.fields, other.fields)
    lost = [(n, f) for side in (one, other) for n, f in side.fields.items() if _written(f) != _written(stands[n])]
    return [history_row(household_id, Overruled(one.id, name, field), revision) for name, field in lost]


def _written(field: Stamped) -> tuple[str, str]:
    return field.stamp, canonical(field.value)


def _carry_readings(old: sa.Connection, new: sa.Connection, now: datetime) -> None:
    """What thermometers said, by their names: their numbers may have been given twice."""
    table, values = tables.thermometer, tables.temperature_reading.c
    same = ("household_id", "tank_id", "name", "readings", "first_at", "last_at")
    there = {tuple(row[name] for name in same) for row in _all(new, table)}
    for row in _all(old, table):
        if tuple(row[name] for name in same) in there:
            continue
        household_id, tank_id = row["household_id"], row["tank_id"]
        mine = (values.household_id == household_id, values.thermometer == row["number"])
        found = old.execute(sa.select(values.at, values.millidegrees).where(*mine).order_by(values.at)).all()
        at_ms, millidegrees = np.array(found, dtype=np.int64).reshape(-1, 2).T
        keep_readings(new, household_id, tank_id, row["name"], at_ms, millidegrees)
        look_at_water(new, household_id, tank_id, now)


def _all(db: sa.Connection, table: sa.Table) -> list[Mapping[str, Any]]:
    return [dict(row) for row in db.execute(sa.select(table)).mappings()]


def _key(table: sa.Table, row: Mapping[str, Any]) -> tuple[Any, ...]:
    return tuple(row[column.name] for column in table.primary_key)


def _add_missing(old: sa.Connection, new: sa.Connection, table: sa.Table) -> None:
    for rows in old.execute(sa.select(table)).mappings().partitions(CHUNK):
        _ignoring(new, table, [dict(row) for row in rows])


def _ignoring(db: sa.Connection, table: sa.Table, rows: Sequence[Mapping[str, Any]]) -> None:
    if rows:
        db.execute(inserting(db, table).on_conflict_do_nothing(), list(rows))


def _put(db: sa.Connection, table: sa.Table, rows: Sequence[Mapping[str, Any]]) -> None:
    if rows:
        db.execute(upserting(db, table), list(rows))
