"""Every value that was replaced or overruled, with who wrote it: nothing is lost in silence."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from hashlib import sha256
from typing import Any

import sqlalchemy as sa

from ...records.merge import Stamped, canonical
from ...store import tables
from ...store.among import among, as_one
from ...store.upsert import insert_new_rows
from .change import Change

Written = tuple[str, str, str, str]
"""One writing: record, field, stamp and canonical value."""


@dataclass(frozen=True)
class Overruled:
    """A value that another one replaced or overruled."""

    record_id: str
    name: str
    field: Stamped

    @cached_property
    def written(self) -> Written:
        """The writing that it was."""
        return self.record_id, self.name, self.field.stamp, canonical(self.field.value)


def read_history(db: sa.Connection, household_id: str, changes: Sequence[Change]) -> set[Written]:
    """Those writings of `changes` that were overruled already."""
    if not changes:
        return set()
    asked = {
        "household_id": household_id,
        "ids": as_one(db, (change.id for change in changes)),
        "stamps": as_one(db, (stamp for change in changes for stamp, *_ in change.marks.values())),
    }
    found = db.execute(OVERRULED[db.dialect.name], asked).all()
    return {(record_id, name, stamp, value) for record_id, name, stamp, value in found}


def _overruled(dialect: str) -> sa.Select:
    had = tables.history.c
    mine = had.household_id == sa.bindparam("household_id")
    ids, stamps = among(had.record_id, "ids")[dialect], among(had.stamp, "stamps")[dialect]
    return sa.select(had.record_id, had.field, had.stamp, had.value).where(mine, ids, stamps)


OVERRULED = {dialect: _overruled(dialect) for dialect in ("sqlite", "postgresql")}


def write_history(db: sa.Connection, household_id: str, lost: Iterable[Overruled], revisions: dict[str, int]) -> None:
    """Keep what was overruled; `revisions` are those of the records it was overruled in."""
    rows = [history_row(household_id, entry, revisions[entry.record_id]) for entry in lost]
    insert_new_rows(db, tables.history, rows)


def digest_of(value: str) -> str:
    """What stands for a canonical value in the key: a value may be longer than a key can be on PostgreSQL."""
    return sha256(value.encode()).hexdigest()[:32]


def history_row(household_id: str, entry: Overruled, revision: int) -> dict[str, Any]:
    """The row that keeps it; `revision` is the record's."""
    record_id, name, stamp, value = entry.written
    return {
        "household_id": household_id,
        "record_id": record_id,
        "field": name,
        "stamp": stamp,
        "digest": digest_of(value),
        "value": value,
        "was": entry.field.was,
        "author": entry.field.author or "",
        "revision": revision,
    }
