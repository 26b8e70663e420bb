"""Forecasts grow old by the hour: each brood under way gets a new one at its tank's lamps-out."""

from __future__ import annotations

import json
from datetime import UTC, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import sqlalchemy as sa

from ...domain.catch import lamps_out_instant
from ...store import tables
from ...store.database import reading, writing
from ..recomputing import ask_for_brood
from .body import issued_at


def ask_for_aged(engine: sa.Engine, now: datetime) -> int:
    """Ask for every brood whose forecast was issued before the last lamps-out; how many there are."""
    table = tables.derived
    with reading(engine) as db:
        rows = db.execute(sa.select(table).where(table.c.kind == "forecast")).all()
    aged = [(row.household_id, row.about) for row in rows if _aged(json.loads(row.body), now)]
    for household_id, brood_id in aged:
        with writing(engine) as db:
            ask_for_brood(db, household_id, brood_id, now)
    return len(aged)


def _aged(body: dict[str, Any], now: datetime) -> bool:
    issued = issued_at(body)
    if issued is None or body.get("ended"):
        return False
    return issued < last_lamps_out(body["zone"], time.fromisoformat(body["lamps_out"]), now)


def last_lamps_out(zone: str, lamps_out: time, now: datetime) -> datetime:
    """The latest lamps-out that is not after `now`."""
    today = now.astimezone(ZoneInfo(zone)).date()
    evenings = (lamps_out_instant(today - timedelta(days=back), ZoneInfo(zone), lamps_out) for back in range(3))
    return next(at for at in evenings if at.astimezone(UTC) <= now)
