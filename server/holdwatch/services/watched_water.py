"""Which tanks' water is to be looked at, and when: asked for in the transaction that gives cause for it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

import sqlalchemy as sa

from ..records.instants import milliseconds
from ..store import tables
from ..store.upsert import inserting
from .recomputing import Written

PAUSE = timedelta(minutes=10)
"""However many readings flow in, a tank's water is looked at no more often than this."""
SAYING_OF_WATER = frozenset({"reading", "trust"})
BEARING_ON_IT = frozenset({"fish", "mark"})


def ask_about_water(db: sa.Connection, household_id: str, written: Iterable[Written], now: datetime) -> None:
    """Ask for every tank whose water these records speak of, and for those watched already that they bear on."""
    said, borne_on = set(), set()
    for record in written:
        if record.kind in SAYING_OF_WATER and not _is_on_typed(record):
            said.add(record.value("about"))
        elif record.kind in BEARING_ON_IT:
            borne_on.add(record.value("about"))
        elif record.kind == "tank":
            borne_on.add(record.id)
    for tank_id in sorted(said - {None}):
        look_at_water(db, household_id, tank_id, now)
    table = tables.water_watch
    watched = (table.c.household_id == household_id, table.c.tank_id.in_(sorted(borne_on - {None})))
    if borne_on - {None}:
        db.execute(sa.update(table).where(*watched).values(due_at=milliseconds(now)))


def _is_on_typed(record: Written) -> bool:
    """A word that a typed reading was right is about that reading and on no thermometer; it changes nothing here."""
    return record.kind == "trust" and record.value("thermometer") is None


def look_at_water(db: sa.Connection, household_id: str, tank_id: str, now: datetime) -> None:
    """Ask for this tank's water to be looked at as soon as the loop comes round."""
    _ask(db, household_id, tank_id, milliseconds(now))


def look_at_water_soon(db: sa.Connection, household_id: str, tank_id: str, now: datetime) -> None:
    """Ask for this tank's water to be looked at a pause after the last time, or at once where that is over."""
    table = tables.water_watch
    key = (table.c.household_id == household_id, table.c.tank_id == tank_id)
    looked_at = db.scalar(sa.select(table.c.looked_at).where(*key))
    earliest = 0 if looked_at is None else looked_at + PAUSE // timedelta(milliseconds=1)
    _ask(db, household_id, tank_id, max(milliseconds(now), earliest))


def is_water_asked_for(db: sa.Connection, household_id: str, now: datetime) -> bool:
    """Whether any water of the household is to be looked at by now."""
    table = tables.water_watch
    due = (table.c.household_id == household_id, table.c.due_at <= milliseconds(now))
    return db.execute(sa.select(table.c.tank_id).where(*due).limit(1)).first() is not None


def _ask(db: sa.Connection, household_id: str, tank_id: str, due_at: int) -> None:
    """The earlier of two askings counts."""
    table = tables.water_watch
    statement = inserting(db, table).values(household_id=household_id, tank_id=tank_id, due_at=due_at)
    earlier = sa.case((table.c.due_at < due_at, table.c.due_at), else_=due_at)
    keys = [column.name for column in table.primary_key]
    db.execute(statement.on_conflict_do_update(index_elements=keys, set_={"due_at": earlier}))
