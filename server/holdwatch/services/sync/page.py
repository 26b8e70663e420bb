"""What is new above a device's cursor: records and what the server derived, in one order."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from ...store import tables
from .stored import stored

PAGE_ROWS = 1000


@dataclass(frozen=True)
class Page:
    """One page, the cursor after it, and whether more is waiting."""

    rows: list[dict[str, Any]]
    derived: list[dict[str, Any]]
    cursor: int
    more: bool


def page_above(db: sa.Connection, household_id: str, cursor: int, limit: int = PAGE_ROWS) -> Page:
    """The next rows by revision; every revision belongs to one row of either table."""
    records = _above(db, tables.record, household_id, cursor, limit)
    derived = _above(db, tables.derived, household_id, cursor, limit)
    revisions = sorted(row.revision for row in [*records, *derived])[:limit]
    last = revisions[-1] if revisions else cursor
    return Page(
        [_record(row) for row in records if row.revision <= last],
        [_derived(row) for row in derived if row.revision <= last],
        last,
        len(records) + len(derived) > limit,
    )


def _above(db: sa.Connection, table: sa.Table, household_id: str, cursor: int, limit: int) -> list[Any]:
    query = sa.select(table).where(table.c.household_id == household_id, table.c.revision > cursor)
    return list(db.execute(query.order_by(table.c.revision).limit(limit + 1)))


def _record(row: Any) -> dict[str, Any]:
    record = stored(row)
    brought = {"brought_by": record.brought_by} if record.brought_by else {}
    return {
        "id": record.id,
        "kind": record.kind,
        "author": record.author,
        "device": record.device,
        "revision": record.revision,
        "fields": {name: {"value": f.value, "stamp": f.stamp} for name, f in record.fields.items()},
        "concurrent": sorted(record.concurrent),
        **brought,
    }


def _derived(row: Any) -> dict[str, Any]:
    about = row.about or None
    return {"kind": row.kind, "about": about, "revision": row.revision, "body": json.loads(row.body)}
