"""Every value that was replaced or overruled, with who wrote it: nothing is lost in silence."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import sqlalchemy as sa

from ...records.merge import Stamped, canonical
from ...store import tables
from ...store.among import among
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
    table = tables.history
    ids = among(db, table.c.record_id, (change.id for change in changes))
    stamps = among(db, table.c.stamp, (stamp for change in changes for stamp, *_ in change.marks.values()))
    columns = (table.c.record_id, table.c.field, table.c.stamp, table.c.value)
    found = db.execute(sa.select(*columns).where(table.c.household_id == household_id, ids, stamps)).all()
    return {(record_id, name, stamp, value) for record_id, name, stamp, value in found}


def write_history(db: sa.Connection, household_id: str, lost: Iterable[Overruled], revisions: dict[str, int]) -> None:
    """Keep what was overruled; `revisions` are those of the records it was overruled in."""
    insert_new_rows(db, tables.history, [_row(household_id, entry, revisions[entry.record_id]) for entry in lost])


def _row(household_id: str, entry: Overruled, revision: int) -> dict[str, object]:
    record_id, name, stamp, value = entry.written
    return {
        "household_id": household_id,
        "record_id": record_id,
        "field": name,
        "stamp": stamp,
        "value": value,
        "was": entry.field.was,
        "author": entry.field.author or "",
        "revision": revision,
    }
