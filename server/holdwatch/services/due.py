"""What the loop is to look at by now, a bit at a time, and which faults in one thing keep no other from its turn."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ..records.instants import milliseconds
from ..store.database import reading

AT_ONCE = 50
# What arithmetic raises where it meets what nobody thought of; a busy database is not among them.
FAULTS = (ArithmeticError, LookupError, TypeError, ValueError)


def due_rows(engine: sa.Engine, table: sa.Table, now: datetime) -> Sequence[Any]:
    """The rows of a watch whose `due_at` has come, the longest due first."""
    query = sa.select(table).where(table.c.due_at <= milliseconds(now)).order_by(table.c.due_at).limit(AT_ONCE)
    with reading(engine) as db:
        return db.execute(query).all()
