"""Records as the database keeps them: read, merged with changes, written back."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

import sqlalchemy as sa

from ...records.instants import BadInstant, instant_text, parse_instant
from ...records.merge import Stamped, canonical, unaware, wins
from ...store import tables
from ...store.upsert import inserting, upserting
from .change import Change

LATE = -(2**62)


@dataclass
class Stored:
    """One record of one household, while a push is merged into it."""

    id: str
    kind: str
    author: str
    device: str
    fields: dict[str, Stamped]
    concurrent: set[str] = field(default_factory=set)
    revision: int = LATE
    touched: bool = False

    def value(self, name: str) -> Any:
        """The field's value, None where it was never written."""
        return self.fields[name].value if name in self.fields else None


@dataclass(frozen=True)
class Overruled:
    """A value that another one replaced or overruled."""

    record_id: str
    name: str
    field: Stamped


def read_stored(db: sa.Connection, household_id: str, ids: Iterable[str]) -> dict[str, Stored]:
    """Those of `ids` that the household has."""
    table = tables.record
    wanted = sorted(set(ids))
    query = sa.select(table).where(table.c.household_id == household_id, table.c.id.in_(wanted))
    return {row.id: stored(row) for row in db.execute(query)}


def stored(row: Any) -> Stored:
    """A row as a record."""
    values, stamps = json.loads(row.fields), json.loads(row.stamps)
    joined = {name: Stamped(values[name], *stamps[name]) for name in values}
    return Stored(
        row.id, row.kind, row.author, row.device, joined, set(json.loads(row.concurrent)), row.revision
    )


def merge_change(
    known: Stored | None, change: Change, skip: Iterable[str], person_id: str, seen: set[tuple[str, str, str]]
) -> tuple[Stored, list[Overruled]]:
    """The record with the change's fields merged in, and what lost.

    `seen` holds (record, field, stamp) of `history`: a message repeated late is no new edit.
    """
    record = known or Stored(change.id, change.kind, change.author, change.device, {})
    lost = []
    for name, sent in change.fields.items():
        if name in skip or (record.id, name, sent.stamp) in seen:
            continue
        new = Stamped(sent.value, sent.stamp, sent.was, person_id)
        lost += _merge_field(record, name, new)
    return record, lost


def _merge_field(record: Stored, name: str, new: Stamped) -> list[Overruled]:
    old = record.fields.get(name)
    if old is not None and (new.stamp, canonical(new.value)) == (old.stamp, canonical(old.value)):
        return []
    record.touched = True
    if old is None:
        record.fields[name] = new
        return []
    _note_concurrent(record, name, new, old)
    winner, loser = (new, old) if wins(new, old) else (old, new)
    record.fields[name] = winner
    return [Overruled(record.id, name, loser)]


def _note_concurrent(record: Stored, name: str, new: Stamped, old: Stamped) -> None:
    if unaware(new, old) or new.stamp == old.stamp:
        record.concurrent.add(name)
    elif new.was == old.stamp:
        # Who wrote this had seen what stood here: the matter is settled.
        record.concurrent.discard(name)


def write_stored(db: sa.Connection, household_id: str, records: Iterable[Stored]) -> None:
    """Insert or replace these records."""
    rows = [_row(household_id, record) for record in records]
    if rows:
        db.execute(upserting(db, tables.record), rows)


def write_history(
    db: sa.Connection, household_id: str, lost: Iterable[Overruled], revisions: Mapping[str, int]
) -> None:
    """Keep what was replaced or overruled."""
    rows = [
        {
            "household_id": household_id,
            "record_id": entry.record_id,
            "field": entry.name,
            "stamp": entry.field.stamp,
            "value": canonical(entry.field.value),
            "was": entry.field.was,
            "author": entry.field.author or "",
            "revision": revisions[entry.record_id],
        }
        for entry in lost
    ]
    if rows:
        db.execute(inserting(db, tables.history).on_conflict_do_nothing(), rows)


def read_history(db: sa.Connection, household_id: str, ids: Iterable[str]) -> set[tuple[str, str, str]]:
    """(record, field, stamp) of all that was replaced or overruled in these records."""
    table = tables.history
    query = sa.select(table.c.record_id, table.c.field, table.c.stamp).where(
        table.c.household_id == household_id, table.c.record_id.in_(sorted(set(ids)))
    )
    return {tuple(row) for row in db.execute(query)}


def _row(household_id: str, record: Stored) -> dict[str, Any]:
    return {
        "household_id": household_id,
        "id": record.id,
        "kind": record.kind,
        "author": record.author,
        "device": record.device,
        "about": record.value("about"),
        "at": _sortable(record.value("at")),
        "fields": canonical({name: field.value for name, field in record.fields.items()}),
        "stamps": canonical({name: [f.stamp, f.was, f.author] for name, f in record.fields.items()}),
        "concurrent": canonical(sorted(record.concurrent)),
        "revision": record.revision,
    }


def _sortable(at: str | None) -> str | None:
    try:
        return instant_text(parse_instant(at)) if at else None
    except BadInstant:
        return None
