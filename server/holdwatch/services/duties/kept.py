"""Duties as the database keeps them: with a version that rises when people must hear of one again."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

import sqlalchemy as sa

from ...domain.duties import Duty
from ...records.instants import from_milliseconds, milliseconds
from ...store import tables
from ...store.upsert import upserting


@dataclass(frozen=True)
class Kept:
    """One duty with its version, the tank's zone for its texts, and whether it was withdrawn."""

    duty: Duty
    version: int
    zone: str
    withdrawn: bool = False


def read_kept(db: sa.Connection, household_id: str, brood_id: str) -> dict[str, Kept]:
    """All duties this brood ever had, by key."""
    query = sa.select(tables.duty).filter_by(household_id=household_id, brood_id=brood_id)
    return {row.key: kept(row) for row in db.execute(query)}


def kept(row: Any) -> Kept:
    """A row as a duty."""
    duty = Duty(
        key=row.key,
        kind=row.kind,
        brood=row.brood_id,
        night=date.fromisoformat(row.night),
        due_at=from_milliseconds(row.due_at),
        tell_at=from_milliseconds(row.tell_at),
        until_at=from_milliseconds(row.until_at),
        taken_by=row.taken_by,
        done_at=None if row.done_at is None else from_milliseconds(row.done_at),
    )
    return Kept(duty, row.version, row.zone, row.withdrawn_at is not None)


def renewed(duty: Duty, before: Kept | None, zone: str) -> Kept:
    """The duty as it is to be kept; the version rises where it moved."""
    whole = replace(
        duty, due_at=_whole(duty.due_at), tell_at=_whole(duty.tell_at), until_at=_whole(duty.until_at),
        done_at=duty.done_at and _whole(duty.done_at),
    )  # fmt: skip
    if before is None:
        return Kept(whole, 1, zone)
    return Kept(whole, before.version + whole.moved(before.duty), zone)


def write_kept(db: sa.Connection, household_id: str, changed: Iterable[Kept]) -> None:
    """Insert or replace these; all that is due of them is queued again, which leaves alone what was sent."""
    rows = [_row(household_id, one) for one in changed]
    if rows:
        db.execute(upserting(db, tables.duty), rows)


def withdraw(db: sa.Connection, household_id: str, keys: Sequence[str], now: datetime) -> None:
    """Take these duties back."""
    table = tables.duty
    mine = (table.c.household_id == household_id, table.c.key.in_(keys), table.c.withdrawn_at.is_(None))
    db.execute(sa.update(table).where(*mine).values(withdrawn_at=milliseconds(now)))


def _whole(at: datetime) -> datetime:
    """The instant as the database gives it back, so that what did not change is seen not to have changed."""
    return from_milliseconds(milliseconds(at))


def _row(household_id: str, one: Kept) -> dict[str, Any]:
    duty = one.duty
    return {
        "household_id": household_id,
        "key": duty.key,
        "kind": duty.kind,
        "brood_id": duty.brood,
        "night": duty.night.isoformat(),
        "zone": one.zone,
        "due_at": milliseconds(duty.due_at),
        "tell_at": milliseconds(duty.tell_at),
        "until_at": milliseconds(duty.until_at),
        "version": one.version,
        "queued": False,
        "taken_by": duty.taken_by,
        "done_at": None if duty.done_at is None else milliseconds(duty.done_at),
        "withdrawn_at": None,
    }
