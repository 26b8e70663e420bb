"""Forecasts grow old by the hour: each brood under way gets a new one when its tank's lamps go out and come on.

At lamps-out the night begins. At lamps-on it is over: where he was not caught, the next night to catch must be known
in the morning, and not half an hour ahead. When that will be is written down with each forecast, so that no round of
the loop has to read them all.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

import sqlalchemy as sa

from ...domain.catch import lamps_on_instant, lamps_out_instant
from ...records.instants import milliseconds
from ...store import tables
from ...store.database import reading, writing
from ...store.upsert import upserting
from ..recomputing import ask_for_broods
from .body import Body

TRIED_AGAIN_AFTER = timedelta(hours=6)
"""What could not be forecast may be by then: for the hour that has come, or a mended program (assumption)."""
AT_ONCE = 500
ONE_DAY = timedelta(days=1)


@dataclass(frozen=True)
class Old:
    """A brood whose forecast has grown old, and since when."""

    household_id: str
    brood_id: str
    old_at: int


def ask_for_aged(engine: sa.Engine, now: datetime, at_once: int = AT_ONCE) -> int:
    """Ask for every brood whose forecast has grown old; how many there are."""
    count = 0
    while aged := _aged(engine, now, at_once):
        with writing(engine) as db:
            # In this order, as where a forecast is kept: in another one two of them could wait for each other.
            ask_for_broods(db, ((old.household_id, old.brood_id) for old in aged), now)
            _forget(db, aged)
        count += len(aged)
    return count


def note_ageing(db: sa.Connection, household_id: str, brood_id: str, old_at: datetime | None) -> None:
    """Write down when the forecast of a brood will have grown old; None where it never will."""
    key = {"household_id": household_id, "brood_id": brood_id}
    if old_at is None:
        db.execute(sa.delete(tables.ageing).filter_by(**key))
    else:
        db.execute(upserting(db, tables.ageing).values(**key, old_at=milliseconds(old_at)))


def grows_old_at(body: Body, now: datetime) -> datetime | None:
    """When a forecast that was issued now will have grown old; None where its brood has ended."""
    if body["ended"]:
        return None
    if body["error"]:
        return now + TRIED_AGAIN_AFTER
    lamps_out, lamps_on = (time.fromisoformat(body[name]) for name in ("lamps_out", "lamps_on"))
    return _next_change(lamps_out, lamps_on, ZoneInfo(body["zone"]), now)


def _aged(engine: sa.Engine, now: datetime, at_once: int) -> list[Old]:
    table = tables.ageing
    query = sa.select(table).where(table.c.old_at <= milliseconds(now)).order_by(table.c.old_at).limit(at_once)
    with reading(engine) as db:
        return [Old(**row._mapping) for row in db.execute(query)]


def _forget(db: sa.Connection, aged: list[Old]) -> None:
    """Only what is still so old: a forecast may have been issued since."""
    table = tables.ageing
    same = [table.c[column.name] == sa.bindparam(f"its_{column.name}") for column in table.c]
    rows = sorted(aged, key=lambda old: (old.household_id, old.brood_id))
    keys = [{f"its_{name}": value for name, value in asdict(old).items()} for old in rows]
    db.execute(sa.delete(table).where(*same), keys)


def _next_change(lamps_out: time, lamps_on: time, zone: ZoneInfo, now: datetime) -> datetime:
    """The first instant after `now` at which the lamps go out or come on."""
    evening = now.astimezone(zone).date() - 2 * ONE_DAY
    nights = [evening + n * ONE_DAY for n in range(4)]
    out = [lamps_out_instant(night, zone, lamps_out) for night in nights]
    on = [lamps_on_instant(night, zone, lamps_out, lamps_on) for night in nights]
    return min(at for at in out + on if at > now)
