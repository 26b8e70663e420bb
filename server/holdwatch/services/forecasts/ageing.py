"""Forecasts grow old by the hour: each brood under way gets a new one when its tank's lamps go out and come on.

At lamps-out the night begins. At lamps-on it is over: where he was not caught, the next night to catch must be known
in the morning, and not half an hour ahead.
"""

from __future__ import annotations

import json
from datetime import UTC, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import sqlalchemy as sa

from ...store import tables
from ...store.database import reading, writing
from ..recomputing import ask_for_brood
from .body import issued_at


def ask_for_aged(engine: sa.Engine, now: datetime) -> int:
    """Ask for every brood whose forecast was issued before its lamps last changed; how many there are."""
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
    lamps = (time.fromisoformat(body[name]) for name in ("lamps_out", "lamps_on"))
    return any(issued < _last(local, ZoneInfo(body["zone"]), now) for local in lamps)


def _last(local: time, zone: ZoneInfo, now: datetime) -> datetime:
    """The latest instant not after `now` at which it was `local` in the zone."""
    today = now.astimezone(zone).date()
    days = (today - timedelta(days=back) for back in range(3))
    instants = (datetime.combine(day, local, tzinfo=zone).astimezone(UTC) for day in days)
    return next(at for at in instants if at <= now)
