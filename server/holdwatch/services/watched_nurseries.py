"""Which batches of young are to be looked at, and when: asked for in the transaction that gives cause for it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

import sqlalchemy as sa

from ..records.instants import milliseconds
from ..store import tables
from ..store.upsert import inserting
from .written import Written

BEARING_ON_ONE = frozenset({"feeding", "count", "water_test", "water_change", "mark"})
BEARING_ON_ALL = frozenset({"tank", "fish", "brood", "food", "culture"})
"""Few of them are ever written, and what they bear on, they may bear on through others: a tank's lamps, say."""


def ask_about_nurseries(
    db: sa.Connection, household_id: str, written: Iterable[Written], left: set[str], now: datetime
) -> None:
    """Ask for every batch among these records, and for those known already that they bear on, or did before.

    `left` are ids that records belonged to before.
    """
    records = list(written)
    for batch_id in sorted(record.id for record in records if record.kind == "batch"):
        look_at_batch(db, household_id, batch_id, now)
    table = tables.nursery_watch
    known = table.c.household_id == household_id
    about = sorted(({record.value("about") for record in records if record.kind in BEARING_ON_ONE} | left) - {None})
    wanted = []
    if any(record.kind in BEARING_ON_ALL for record in records):
        wanted.append(known & table.c.due_at.is_not(None))
    if about:
        wanted.append(known & table.c.batch_id.in_(about))
    for which in wanted:
        db.execute(sa.update(table).where(which).values(due_at=milliseconds(now)))


def ask_about_batches_of(db: sa.Connection, household_id: str, brood_id: str, now: datetime) -> None:
    """Ask for the batches that came of a brood: its hatching is known better now."""
    record, table = tables.record, tables.nursery_watch
    mine = (record.c.household_id == household_id, record.c.about == brood_id, record.c.kind == "batch")
    of_it = table.c.batch_id.in_(sa.select(record.c.id).where(*mine))
    running = (table.c.household_id == household_id, table.c.due_at.is_not(None), of_it)
    db.execute(sa.update(table).where(*running).values(due_at=milliseconds(now)))


def look_at_batch(db: sa.Connection, household_id: str, batch_id: str, due_at: datetime | None) -> None:
    """Have a batch looked at then; None for not again, unless something is written of it."""
    at = None if due_at is None else milliseconds(due_at)
    statement = inserting(db, tables.nursery_watch).values(household_id=household_id, batch_id=batch_id, due_at=at)
    keys = [column.name for column in tables.nursery_watch.primary_key]
    db.execute(statement.on_conflict_do_update(index_elements=keys, set_={"due_at": at}))


def is_nursery_asked_for(db: sa.Connection, household_id: str, now: datetime) -> bool:
    """Whether any batch of the household is to be looked at by now."""
    table = tables.nursery_watch
    due = (table.c.household_id == household_id, table.c.due_at <= milliseconds(now))
    return db.execute(sa.select(table.c.batch_id).where(*due).limit(1)).first() is not None
