"""Whose turn it is, as the records of the rota say."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, datetime
from typing import Any

import sqlalchemy as sa

from ..domain.duties.turns import weekday
from ..store.tables import person, rota
from .away import is_away
from .written import Written


def turn_in(record: Written) -> dict[str, Any] | None:
    """What a record of the rota says, as it is kept; None where it names nobody or no day."""
    who, days = record.value("person"), record.value("weekdays")
    return {"person_id": who, "weekdays": days} if who and days else None


def households_with_turns(db: sa.Connection, households: Collection[str]) -> frozenset[str]:
    """Those among these households in which anybody has turns at all."""
    among = rota.c.household_id.in_(sorted(set(households)))
    return frozenset(db.scalars(sa.select(rota.c.household_id).where(among).distinct()))


def whose_turn(db: sa.Connection, household_id: str, day: date, at: datetime) -> frozenset[str]:
    """Those of the household whose turn it is on that day of the week, and who are not away at `at`."""
    same = (rota.c.household_id == person.c.household_id) & (rota.c.person_id == person.c.person_id)
    here = (rota.c.household_id == household_id, person.c.removed_at.is_(None), sa.not_(is_away(rota, at)))
    query = sa.select(rota.c.person_id, rota.c.weekdays).join(person, same).where(*here)
    return frozenset(row.person_id for row in db.execute(query) if weekday(day) in row.weekdays.split(","))
