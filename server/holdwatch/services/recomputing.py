"""Which broods' forecasts are out of date: asked for in the transaction that made them so."""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import datetime
from typing import Any, Protocol

import sqlalchemy as sa

from ..records.instants import milliseconds
from ..store import tables

THINGS = frozenset({"tank", "fish", "brood"})


class Written(Protocol):
    """As much of a record as is needed here."""

    id: str
    kind: str

    def value(self, name: str) -> Any: ...


def ask_for(
    db: sa.Connection, household_id: str, written: Iterable[Written], left: set[str], now: datetime
) -> None:
    """Ask for every brood that these records bear on; `left` are ids they belonged to before."""
    start = set(left)
    for record in written:
        start |= {record.id} if record.kind in THINGS else set()
        start |= {about for about in [record.value("about")] if about}
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
    """Broods among `start`, and those under way below its fish and tanks."""
    fish = _below(db, household_id, start, "fish")
    below = _below(db, household_id, start | fish, "brood")
    named = _of_kind(db, household_id, start, "brood")
    return named | {brood for brood in below if _under_way(db, household_id, brood)}


def _below(db: sa.Connection, household_id: str, ids: set[str], kind: str) -> set[str]:
    table = tables.record
    mine = (table.c.household_id == household_id, table.c.about.in_(sorted(ids)), table.c.kind == kind)
    return set(db.scalars(sa.select(table.c.id).where(*mine)))


def _of_kind(db: sa.Connection, household_id: str, ids: set[str], kind: str) -> set[str]:
    table = tables.record
    mine = (table.c.household_id == household_id, table.c.id.in_(sorted(ids)), table.c.kind == kind)
    return set(db.scalars(sa.select(table.c.id).where(*mine)))


def _under_way(db: sa.Connection, household_id: str, brood_id: str) -> bool:
    table = tables.record
    query = sa.select(table.c.fields).where(table.c.household_id == household_id, table.c.id == brood_id)
    fields = json.loads(db.execute(query).scalar_one())
    return not fields.get("ended") and not fields.get("gone")


def _mark(db: sa.Connection, household_id: str, broods: set[str], now: datetime) -> None:
    table = tables.recompute
    ids = sorted(broods)
    if not ids:
        return
    db.execute(sa.delete(table).where(table.c.household_id == household_id, table.c.brood_id.in_(ids)))
    asked_at = milliseconds(now)
    rows = [{"household_id": household_id, "brood_id": brood, "asked_at": asked_at} for brood in ids]
    db.execute(sa.insert(table), rows)
