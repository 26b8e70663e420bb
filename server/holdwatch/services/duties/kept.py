"""Duties as the database keeps them: with a version that rises when people must hear of one again."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date, datetime
from typing import Any

import sqlalchemy as sa

from ...channels.message import MOVED, WITHDRAWN
from ...domain.duties import AFTERWARDS, Amount, Duty
from ...domain.duties.turns import first_asked_at
from ...records.instants import from_milliseconds, milliseconds
from ...store import tables
from ...store.upsert import upserting


@dataclass(frozen=True)
class Kept:
    """One duty with its version, the tank's zone for its texts, and whether it was withdrawn.

    `news` is what those who were told of it are still to hear: MOVED or WITHDRAWN. `was_due_at` is when it was due
    before it moved. `sequence` counts every such change, also one that nobody was told of: a calendar may have shown
    it.
    """

    duty: Duty
    version: int
    zone: str
    withdrawn: bool = False
    news: str | None = None
    was_due_at: datetime | None = None
    sequence: int = 0


def read_kept(db: sa.Connection, household_id: str, brood_id: str) -> dict[str, Kept]:
    """All duties this brood ever had, by key."""
    query = sa.select(tables.duty).filter_by(household_id=household_id, brood_id=brood_id)
    return {row.key: kept(row) for row in db.execute(query)}


def owed_to(
    db: sa.Connection, household_id: str, broods: Sequence[str], is_withdrawn: bool, now: datetime
) -> list[tuple[str, str]]:
    """Those broods, by household and id, for which something that is asked for once a brood is over stands, or did."""
    table = tables.duty
    wanted = (
        table.c.household_id == household_id,
        table.c.brood_id.in_(broods),
        table.c.kind.in_(sorted(AFTERWARDS - {"pumps_on"})),
        table.c.withdrawn_at.is_not(None) if is_withdrawn else table.c.withdrawn_at.is_(None),
        table.c.until_at > milliseconds(now),
    )
    found = db.scalars(sa.select(table.c.brood_id).where(*wanted).distinct())
    return [(household_id, brood) for brood in found]


def was_told(db: sa.Connection, household_id: str, key: str) -> bool:
    """Whether anybody has had a message of that duty, or is about to."""
    its = tables.delivery.c.household_id == household_id, tables.delivery.c.duty_key == key
    going = tables.delivery.c.state.in_(("sent", "waiting"))
    return db.execute(sa.select(tables.delivery.c.state).where(*its, going).limit(1)).first() is not None


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
        done_at=_instant(row.done_at),
        skipped=row.skipped,
        put_off=tuple((person, from_milliseconds(at)) for person, at in sorted(json.loads(row.put_off).items())),
        amount=Amount(**json.loads(row.amount)) if row.amount else None,
    )
    return Kept(
        duty, row.version, row.zone, row.withdrawn_at is not None, row.news, _instant(row.was_due_at), row.sequence
    )


def renewed(duty: Duty, before: Kept | None, zone: str) -> Kept:
    """The duty as it is to be kept.

    The version rises where it moved, and where it comes back after people have heard that it was withdrawn.
    """
    whole = replace(
        duty, due_at=_whole(duty.due_at), tell_at=_whole(duty.tell_at), until_at=_whole(duty.until_at),
        done_at=duty.done_at and _whole(duty.done_at),
        put_off=tuple((person, _whole(at)) for person, at in duty.put_off),
    )  # fmt: skip
    if before is None:
        return Kept(whole, 1, zone)
    if before.withdrawn:
        was_heard = before.news is None
        version = before.version + (was_heard or whole.moved(before.duty))
        return Kept(whole, version, zone, sequence=before.sequence + 1)
    if not whole.moved(before.duty):
        return replace(before, duty=whole, zone=zone)
    # Moved twice before anybody heard of it: what people know is when it was due at first.
    known = before.was_due_at if before.news == MOVED else before.duty.due_at
    news = None if known == whole.due_at else MOVED
    return Kept(whole, before.version + 1, zone, news=news, was_due_at=known, sequence=before.sequence + 1)


def write_kept(db: sa.Connection, household_id: str, changed: Iterable[Kept]) -> None:
    """Insert or replace these; all that is due of them is queued again, which leaves alone what was sent."""
    rows = [_row(household_id, one) for one in changed]
    if rows:
        db.execute(upserting(db, tables.duty), rows)


def withdraw(db: sa.Connection, household_id: str, keys: Sequence[str], now: datetime) -> None:
    """Take these duties back; those who were told of them are to hear it."""
    table = tables.duty
    mine = (table.c.household_id == household_id, table.c.key.in_(keys), table.c.withdrawn_at.is_(None))
    db.execute(sa.update(table).where(*mine).values(_withdrawn(now)))


def _withdrawn(now: datetime) -> dict[str, Any]:
    return {"withdrawn_at": milliseconds(now), "news": WITHDRAWN, "sequence": tables.duty.c.sequence + 1}


def _instant(at: int | None) -> datetime | None:
    return None if at is None else from_milliseconds(at)


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
        "ask_at": milliseconds(min([first_asked_at(duty), *(until for _, until in duty.put_off)])),
        "version": one.version,
        "sequence": one.sequence,
        "queued": False,
        "taken_by": duty.taken_by,
        "done_at": None if duty.done_at is None else milliseconds(duty.done_at),
        "skipped": duty.skipped,
        "put_off": json.dumps({person: milliseconds(at) for person, at in duty.put_off}),
        "amount": json.dumps(asdict(duty.amount)) if duty.amount else None,
        "withdrawn_at": None,
        "news": one.news,
        "was_due_at": None if one.was_due_at is None else milliseconds(one.was_due_at),
    }
