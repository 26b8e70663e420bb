"""Whose turn it is, as the records of the rota say: kept where the queue of reminders finds it at once."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any, Protocol

import sqlalchemy as sa

from ..domain.duties.turns import weekday
from ..records.instants import milliseconds
from ..store.tables import away, person, rota
from ..store.upsert import upserting

KIND = "rota"


class Written(Protocol):
    """As much of a record as is needed here."""

    id: str
    kind: str

    def value(self, name: str) -> Any: ...


def note_rota(db: sa.Connection, household_id: str, written: Iterable[Written]) -> None:
    """Keep what these records say of turns; one that was taken away, or names nobody or no day, says nothing."""
    for record in written:
        if record.kind != KIND:
            continue
        db.execute(sa.delete(rota).filter_by(household_id=household_id, record_id=record.id))
        who, days = record.value("person"), record.value("weekdays")
        if who and days and not record.value("gone"):
            row = {"household_id": household_id, "record_id": record.id, "person_id": who, "weekdays": days}
            db.execute(upserting(db, rota).values(row))


def whose_turn(db: sa.Connection, household_id: str, day: date, at: datetime) -> frozenset[str]:
    """Those of the household whose turn it is on that day of the week, and who are not away at `at`."""
    same = (rota.c.household_id == person.c.household_id) & (rota.c.person_id == person.c.person_id)
    gone = sa.exists().where(
        away.c.household_id == rota.c.household_id,
        away.c.person_id == rota.c.person_id,
        away.c.since_at <= milliseconds(at),
        away.c.until_at > milliseconds(at),
    )
    query = (
        sa.select(rota.c.person_id, rota.c.weekdays)
        .join(person, same)
        .where(rota.c.household_id == household_id, person.c.removed_at.is_(None), sa.not_(gone))
    )
    return frozenset(row.person_id for row in db.execute(query) if weekday(day) in row.weekdays.split(","))
