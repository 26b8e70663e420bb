"""What is new above a device's cursor: records and what the server derived, in one order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import orjson
import sqlalchemy as sa

from ...store import tables
from .marks import marks_of, stamps_of

PAGE_ROWS = 1000


def _by_revision(table: sa.Table) -> sa.Select:
    mine = (table.c.household_id == sa.bindparam("household_id"), table.c.revision > sa.bindparam("cursor"))
    return sa.select(table).where(*mine).order_by(table.c.revision).limit(sa.bindparam("rows"))


# Made once: every phone asks each minute, and to make them takes longer than to find that there is nothing.
RECORDS, DERIVED = _by_revision(tables.record), _by_revision(tables.derived)


@dataclass(frozen=True)
class Page:
    """One page, the cursor after it, and whether more is waiting."""

    rows: list[dict[str, Any]]
    derived: list[dict[str, Any]]
    cursor: int
    more: bool
    upto: int | None = None
    """The household's revision, where more is waiting: how far the device has come."""


def page_above(db: sa.Connection, household_id: str, cursor: int, limit: int = PAGE_ROWS, lean: bool = False) -> Page:
    """The next rows by revision; every revision belongs to one row of either table. Older clients read no lean ones."""
    record = _lean_record if lean else _record
    records = _above(db, RECORDS, household_id, cursor, limit)
    derived = _above(db, DERIVED, household_id, cursor, limit)
    revisions = sorted(row.revision for row in [*records, *derived])[:limit]
    last = revisions[-1] if revisions else cursor
    more = len(records) + len(derived) > limit
    return Page(
        [record(row) for row in records if row.revision <= last],
        [_derived(row) for row in derived if row.revision <= last],
        last,
        more,
        _revision(db, household_id) if more else None,
    )


def _revision(db: sa.Connection, household_id: str) -> int:
    table = tables.household
    return db.scalars(sa.select(table.c.revision).where(table.c.household_id == household_id)).one()


def _above(db: sa.Connection, query: sa.Select, household_id: str, cursor: int, limit: int) -> Sequence[Any]:
    return db.execute(query, {"household_id": household_id, "cursor": cursor, "rows": limit + 1}).all()


# Not by way of `stored`: of a hundred thousand rows each step counts.
def _record(row: Any) -> dict[str, Any]:
    values = orjson.loads(row.fields)
    marks = marks_of(values, row.stamps)
    return {
        **_identity(row),
        "fields": {name: {"value": value, "stamp": marks[name][0]} for name, value in values.items()},
        "concurrent": sorted(orjson.loads(row.concurrent)),
    }


def _lean_record(row: Any) -> dict[str, Any]:
    """The stamp of most values once, and only what is not empty."""
    told = _identity(row)
    told["values"] = orjson.loads(row.fields)
    told["stamp"], stamps = stamps_of(row.stamps)
    if stamps:
        told["stamps"] = stamps
    if row.concurrent != "{}":
        told["concurrent"] = sorted(orjson.loads(row.concurrent))
    return told


def _identity(row: Any) -> dict[str, Any]:
    told = {"id": row.id, "kind": row.kind, "author": row.author, "device": row.device, "revision": row.revision}
    if row.brought_by:
        told["brought_by"] = row.brought_by
    return told


def _derived(row: Any) -> dict[str, Any]:
    about = row.about or None
    return {"kind": row.kind, "about": about, "revision": row.revision, "body": orjson.loads(row.body)}
