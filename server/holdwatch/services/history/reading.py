"""Reads a record's history, or that of a brood with everything about it, a page at a time."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Any

import sqlalchemy as sa

from ...records.merge import Stamped, canonical
from ...store import tables
from ..sync.stored import Stored, read_stored
from .told import Directory, Earlier, Told, directory, knew_nothing

PAGE_WRITINGS = 200


class NotFound(Exception):
    """There is no such record; the message says so."""


@dataclass(frozen=True)
class FieldHistory:
    """A field: what stands, and what stood there before, the latest first."""

    name: str
    stands: Told
    earlier: list[Earlier]


@dataclass(frozen=True)
class RecordHistory:
    """A record's fields, and the names of those that were written apart and nobody has settled."""

    id: str
    kind: str
    author: str
    concurrent: list[str]
    fields: list[FieldHistory]


@dataclass(frozen=True)
class History:
    """One page, and where the next one begins; None at the end."""

    records: list[RecordHistory]
    next: int | None


def record_history(db: sa.Connection, household_id: str, record_id: str, first: int = 0) -> History:
    """All the values that the fields of one record have and had; of pages after the first, earlier ones alone."""
    _need(db, household_id, record_id)
    rows, following = _overruled(db, household_id, [record_id], first)
    return _history(db, household_id, rows, following, whole=record_id if first == 0 else None)


def brood_history(db: sa.Connection, household_id: str, brood_id: str, first: int = 0) -> History:
    """What was replaced in a brood and in all that is or ever was about it; what was replaced last comes first."""
    if _need(db, household_id, brood_id).kind != "brood":
        raise NotFound("There is no such brood.")
    rows, following = _overruled(db, household_id, _about(household_id, brood_id), first)
    return _history(db, household_id, rows, following)


def _need(db: sa.Connection, household_id: str, record_id: str) -> Stored:
    found = read_stored(db, household_id, [record_id]).get(record_id)
    if found is None:
        raise NotFound("There is no such record.")
    return found


def _about(household_id: str, brood_id: str) -> sa.CompoundSelect:
    """The brood itself, what is about it, and what was until somebody moved it to another."""
    record, history = tables.record.c, tables.history.c
    is_its = sa.or_(record.id == brood_id, record.about == brood_id)
    is_here = sa.select(record.id).where(record.household_id == household_id, is_its)
    was_here = (history.household_id == household_id, history.field == "about", history.value == canonical(brood_id))
    return is_here.union(sa.select(history.record_id).where(*was_here))


def _overruled(
    db: sa.Connection, household_id: str, ids: Sequence[str] | sa.CompoundSelect, first: int
) -> tuple[Sequence[Any], int | None]:
    """One page of overruled values, each with what followed on it if that was overruled in its turn."""
    table = tables.history.c
    each, turn = (table.record_id, table.field), (table.stamp, table.value)
    columns = [table.stamp, table.was, table.value, table.author]
    leading = [(sa.func.lead(column), f"next_{column.name}") for column in columns]
    following = [lead.over(partition_by=each, order_by=turn).label(name) for lead, name in leading]
    query = sa.select(table.record_id, table.field, table.revision, *columns, *following)
    mine = query.where(table.household_id == household_id, table.record_id.in_(ids)).subquery()
    # By when they were overruled. A record's revision is its own, so its rows lie together.
    order = (mine.c.revision.desc(), mine.c.record_id, mine.c.field, mine.c.stamp.desc(), mine.c.value.desc())
    rows = db.execute(sa.select(mine).order_by(*order).offset(first).limit(PAGE_WRITINGS + 1)).all()
    return rows[:PAGE_WRITINGS], first + PAGE_WRITINGS if len(rows) > PAGE_WRITINGS else None


def _history(
    db: sa.Connection, household_id: str, rows: Sequence[Any], following: int | None, whole: str | None = None
) -> History:
    """The page as it is told; `whole` names a record of which every field is told."""
    # A record that was overruled more than once has its rows in several places.
    ids = list(dict.fromkeys([*([whole] if whole else []), *(row.record_id for row in rows)]))
    records = read_stored(db, household_id, ids)
    people = directory(db, household_id)
    fields = {key: list(group) for key, group in groupby(sorted(rows, key=_field_of), key=_field_of)}
    told = []
    for record_id in ids:
        record = records[record_id]
        names = sorted(name for name in record.fields if (record_id, name) in fields or record_id == whole)
        each = [_field(record, name, fields.get((record_id, name), []), people) for name in names]
        told.append(RecordHistory(record.id, record.kind, record.author, sorted(record.concurrent), each))
    return History(told, following)


def _field_of(row: Any) -> tuple[str, str]:
    return row.record_id, row.field


def _field(record: Stored, name: str, rows: Sequence[Any], people: Directory) -> FieldHistory:
    stands = record.fields[name]
    latest_first = sorted(rows, key=lambda row: (row.stamp, row.value), reverse=True)
    earlier = [_earlier(row, stands, people) for row in latest_first]
    if name in record.concurrent and earlier and not any(one.apart for one in earlier) and _is_complete(rows):
        # Two did not know of each other, yet what is kept does not show which: the last to be replaced is the nearest.
        earlier[0] = replace(earlier[0], apart=True)
    return FieldHistory(name, people.told(stands), earlier)


def _is_complete(rows: Sequence[Any]) -> bool:
    """Whether what was replaced last is among these rows of a field."""
    return any(row.next_stamp is None for row in rows)


def _earlier(row: Any, stands: Stamped, people: Directory) -> Earlier:
    overruled = Stamped(json.loads(row.value), row.stamp, row.was, row.author)
    by = stands
    if row.next_stamp is not None:
        by = Stamped(json.loads(row.next_value), row.next_stamp, row.next_was, row.next_author)
    return people.earlier(overruled, by, knew_nothing(by, overruled))
