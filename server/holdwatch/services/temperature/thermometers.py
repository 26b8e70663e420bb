"""The thermometers of a tank: how many readings each has, and what it said last."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import sqlalchemy as sa

from ...store import tables
from ..access import Who
from .tanks import tank_of


def thermometers_of(db: sa.Connection, who: Who, tank_id: str) -> Sequence[Any]:
    """The rows of the tank's thermometers, by name."""
    tank_of(db, who.household_id, tank_id)
    table = tables.thermometer
    query = sa.select(table).filter_by(household_id=who.household_id, tank_id=tank_id)
    return db.execute(query.order_by(table.c.name)).all()
