"""Which broods' forecasts are out of date: asked for in the transaction that made them so."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any, Protocol

import sqlalchemy as sa

from ..records.instants import milliseconds
from ..store import tables
from ..store.upsert import upserting

THINGS = frozenset({"tank", "fish", "brood"})


class Written(Protocol):
    """As much of a record as is needed here."""

    id: str
    kind: str

    def value(self, name: str) -> Any: ...


def ask_for(db: sa.Connection, household_id: str, written: Iterable[Written], left: set[str], now: datetime) -> None:
    """Ask for every brood that these records bear on; `left` are ids they belonged to before."""
    start = set(left)
    for record in written:
        start |= {record.id} if record.kind in THINGS else set()
        # What is said of a male bears on him alone, not on all in his tank.
        about = record.value("about") if record.kind != "fish" else None
        start |= {about} if about else set()
    if start:
        _mark(db, household_id, _broods(db, household_id, start), now)


def ask_for_brood(db: sa.Connection, household_id: str, brood_id: str, now: datetime) -> None:
    """Ask for one brood."""
    _mark(db, household_id, {brood_id}, now)


def asked_for(db: sa.Connection, household_id: str) -> bool:
    """Whether any forecast of the household is waiting to be made anew."""
    table = tables.recompute
    query = sa.select(table.c.brood_id).where(table.c.household_id == household_id).limit(1)
    return db.execute(query).first() is not None


def _broods(db: sa.Connection, household_id: str, start: set[str]) -> set[str]:
    """Broods among `start`, and those under way of the same males, and below its fish and tanks."""
    records = tables.record.c
    named = _records(db, household_id, "brood", records.id.in_(start))
    fish = _records(db, household_id, "fish", records.about.in_(start))
    males = start | {row.id for row in fish} | {row.about for row in named if row.about}
    below = _records(db, household_id, "brood", records.about.in_(males))
    return {row.id for row in named} | {row.id for row in below if _under_way(row)}


def _records(db: sa.Connection, household_id: str, kind: str, which: sa.ColumnElement[bool]) -> Sequence[Any]:
    table = tables.record
    mine = (table.c.household_id == household_id, table.c.kind == kind)
    return db.execute(sa.select(table.c.id, table.c.about, table.c.fields).where(*mine, which)).all()


def _under_way(brood: Any) -> bool:
    fields = json.loads(brood.fields)
    return not fields.get("ended") and not fields.get("gone")


def _mark(db: sa.Connection, household_id: str, broods: set[str], now: datetime) -> None:
    if not broods:
        return
    table = tables.recompute
    these = (table.c.household_id == household_id, table.c.brood_id.in_(broods))
    asked = {row.brood_id: row.asked_at for row in db.execute(sa.select(table).where(*these))}
    # Later than what was asked before, whatever the clock says: whoever computes now forgets only what he began with.
    rows = [
        {"household_id": household_id, "brood_id": brood, "asked_at": max(milliseconds(now), asked.get(brood, 0) + 1)}
        for brood in sorted(broods)
    ]
    db.execute(upserting(db, table), rows)
