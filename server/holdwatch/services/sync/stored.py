"""Records as the database keeps them: read, and written back."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

import orjson
import sqlalchemy as sa

from ...records.instants import BadInstant, instant_text, parse_instant
from ...records.merge import Mark, Stamped, canonical, canonical_pointless
from ...store import tables
from ...store.among import among, as_one
from ...store.upsert import upsert_rows
from .marks import marks_of, marks_text

NONE_CONCURRENT = "{}"
# As phones write them; of instants that are written otherwise the column gets another text.
SORTABLE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{3}Z")


@dataclass(slots=True)
class Stored:
    """One record of one household."""

    id: str
    kind: str
    author: str
    device: str
    values: dict[str, Any]
    marks: dict[str, Mark]
    """Of each value."""
    concurrent: dict[str, int] = field(default_factory=dict)
    """Fields whose edits did not know of each other, with the record's revision when that showed."""
    revision: int = 0
    brought_by: str | None = None
    """Who brought it back after a restore, where that was not its author."""

    @property
    def fields(self) -> dict[str, Stamped]:
        """All fields, put together."""
        return {name: self.field(name) for name in self.values}

    def field(self, name: str) -> Stamped:
        """A field that has been written."""
        return Stamped(self.values[name], *self.marks[name])

    def value(self, name: str) -> Any:
        """The field's value, None where it was never written."""
        return self.values.get(name)

    def write(self, name: str, field: Stamped) -> None:
        """Put a field in the place of what stood there."""
        self.values[name] = field.value
        self.marks[name] = (field.stamp, field.was, field.author, field.revision)


def read_stored(db: sa.Connection, household_id: str, ids: Iterable[str]) -> dict[str, Stored]:
    """Those of `ids` that the household has."""
    wanted = set(ids)
    if not wanted:
        return {}
    asked = {"household_id": household_id, "ids": as_one(db, wanted)}
    return {row.id: stored(row) for row in db.execute(BY_ID[db.dialect.name], asked).all()}


def records_about(
    db: sa.Connection,
    household_id: str,
    about: str | None,
    kind: str,
    since: datetime | None = None,
    until: datetime | None = None,
) -> list[Stored]:
    """Those of a kind that are about it, None for about nothing, and were not taken away, in the order of their time.

    Between two instants, where they are given, both included; then only what has a time.
    """
    table = tables.record
    where = [table.c.household_id == household_id, table.c.about == about, table.c.kind == kind]
    if since is not None:
        where.append(table.c.at >= instant_text(since))
    if until is not None:
        where.append(table.c.at <= instant_text(until))
    records = map(stored, db.execute(sa.select(table).where(*where).order_by(table.c.at, table.c.id)))
    return [one for one in records if not one.value("gone")]


_MINE = tables.record.c.household_id == sa.bindparam("household_id")
BY_ID = {
    dialect: sa.select(tables.record).where(_MINE, wanted)
    for dialect, wanted in among(tables.record.c.id, "ids").items()
}


def stored(row: Any) -> Stored:
    """A row as a record."""
    values, concurrent = orjson.loads(row.fields), orjson.loads(row.concurrent)
    identity = row.id, row.kind, row.author, row.device
    return Stored(*identity, values, marks_of(values, row.stamps), concurrent, row.revision, row.brought_by)


def write_stored(db: sa.Connection, household_id: str, records: Iterable[Stored]) -> None:
    """Insert or replace these records."""
    upsert_rows(db, tables.record, [_row(household_id, record) for record in records])


def _row(household_id: str, record: Stored) -> dict[str, Any]:
    return {
        "household_id": household_id,
        "id": record.id,
        "kind": record.kind,
        "author": record.author,
        "device": record.device,
        "about": record.value("about"),
        "at": _sortable(record.value("at")),
        "fields": canonical(record.values),
        "stamps": marks_text(record.marks),
        # Hardly any has two edits that knew nothing of each other.
        "concurrent": canonical_pointless(record.concurrent) if record.concurrent else NONE_CONCURRENT,
        "revision": record.revision,
        "brought_by": record.brought_by,
    }


def _sortable(at: str | None) -> str | None:
    if at is None or SORTABLE.fullmatch(at):
        return at
    try:
        return instant_text(parse_instant(at))
    except BadInstant:
        return None
