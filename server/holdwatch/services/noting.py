"""Keeps what some records say where the queue of reminders finds it at once: a household may have a million records."""

from __future__ import annotations

from collections.abc import Iterable

import sqlalchemy as sa

from ..store.tables import away, rota
from ..store.upsert import upserting
from .away import span_in
from .rota import turn_in
from .written import Written

NOTED = {"absence": (away, span_in), "rota": (rota, turn_in)}


def note(db: sa.Connection, household_id: str, written: Iterable[Written]) -> None:
    """Keep what these records say; one that was taken away, or says only half of it, says nothing."""
    for record in written:
        if record.kind not in NOTED:
            continue
        table, said_in = NOTED[record.kind]
        its = {"household_id": household_id, "record_id": record.id}
        db.execute(sa.delete(table).filter_by(**its))
        said = None if record.value("gone") else said_in(record)
        if said is not None:
            db.execute(upserting(db, table).values(its | said))
