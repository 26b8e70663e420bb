"""What the server derives and phones pull like records: forecasts, duties, the household's people."""

from __future__ import annotations

import json
from typing import Any

import sqlalchemy as sa

from ..records.merge import canonical
from ..store import tables
from ..store.upsert import upserting


def raise_revision(db: sa.Connection, household_id: str, by: int = 1) -> int:
    """Raise the household's revision; the last one before the raised ones.

    It is the first write of its transaction: the row lock makes the order of commits and the order of
    revisions the same.
    """
    table = tables.household
    statement = (
        sa.update(table)
        .where(table.c.household_id == household_id)
        .values(revision=table.c.revision + by)
        .returning(table.c.revision)
    )
    return db.execute(statement).scalar_one() - by


def put_derived(db: sa.Connection, household_id: str, kind: str, about: str | None, body: Any) -> None:
    """Put `body` in the place of what was derived before, above every cursor; what is the same stays where it is."""
    key = {"household_id": household_id, "kind": kind, "about": about or ""}
    text = canonical(body)
    if db.scalar(sa.select(tables.derived.c.body).filter_by(**key)) == text:
        return
    row = {**key, "body": text, "revision": raise_revision(db, household_id) + 1}
    db.execute(upserting(db, tables.derived).values(row))


def derived_body(db: sa.Connection, household_id: str, kind: str, about: str | None) -> Any:
    """What was derived last under this kind and `about`; None if nothing was."""
    table = tables.derived
    query = sa.select(table.c.body).filter_by(household_id=household_id, kind=kind, about=about or "")
    text = db.scalar(query)
    return json.loads(text) if text else None
