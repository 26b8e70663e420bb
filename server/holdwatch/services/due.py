"""Looks at what a watch says is due, a bit at a time; a fault in one thing keeps no other from its turn."""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ..records.instants import milliseconds
from ..store.database import reading, writing

AT_ONCE = 50
# What arithmetic raises where it meets what nobody thought of; a busy database is not among them.
FAULTS = (ArithmeticError, LookupError, TypeError, ValueError)

log = logging.getLogger(__name__)

Step = Callable[[sa.Connection, Any], object]
"""What is done for one row, in a transaction of its own."""


def look_at_due(engine: sa.Engine, watch: sa.Table, now: datetime, look: Step, set_aside: Step) -> int:
    """Look at the rows of a watch whose `due_at` has come, the longest due first; how many there were.

    One that our arithmetic cannot cope with is set aside instead, and logged.
    """
    # Every primary key is the household and the thing's own id.
    _, own_id = (column.name for column in watch.primary_key)
    query = sa.select(watch).where(watch.c.due_at <= milliseconds(now)).order_by(watch.c.due_at).limit(AT_ONCE)
    with reading(engine) as db:
        due = db.execute(query).all()
    for row in due:
        try:
            with writing(engine) as db:
                look(db, row)
        except FAULTS as fault:
            which = getattr(row, own_id)
            log.error("%s %s could not be looked at by a fault of the program", own_id, which, exc_info=fault)
            with writing(engine) as db:
                set_aside(db, row)
    return len(due)
