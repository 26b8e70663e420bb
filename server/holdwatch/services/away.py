"""Who is not at home, as the records of absences say: kept where the queue of reminders finds it at once."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any, Protocol

import sqlalchemy as sa

from ..records.instants import milliseconds, parse_instant
from ..store.tables import away
from ..store.upsert import upserting

KIND = "absence"


class Written(Protocol):
    """As much of a record as is needed here."""

    id: str
    kind: str

    def value(self, name: str) -> Any: ...


def is_away(db: sa.Connection, household_id: str, person_id: str, at: datetime) -> bool:
    """Whether that person is not at home at that time."""
    his = (away.c.household_id == household_id, away.c.person_id == person_id)
    then = (away.c.since_at <= milliseconds(at), away.c.until_at > milliseconds(at))
    return db.execute(sa.select(away.c.record_id).where(*his, *then).limit(1)).first() is not None


def note_absences(db: sa.Connection, household_id: str, written: Iterable[Written]) -> None:
    """Keep what these records say of absences; one that was taken away, or says no time, is none."""
    for record in written:
        if record.kind != KIND:
            continue
        db.execute(sa.delete(away).filter_by(household_id=household_id, record_id=record.id))
        person, since, until = (record.value(name) for name in ("person", "since", "until"))
        if person and since and until and not record.value("gone"):
            row = {"household_id": household_id, "record_id": record.id, "person_id": person}
            span = {"since_at": milliseconds(parse_instant(since)), "until_at": milliseconds(parse_instant(until))}
            db.execute(upserting(db, away).values(row | span))
