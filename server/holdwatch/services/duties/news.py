"""What became of a duty that people were told of: it has moved, or need not be done any more."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ...channels.message import WITHDRAWN
from ...channels.words import WORTH_WITHDRAWING
from ...records.instants import milliseconds
from ...store.tables import delivery, duty, person
from ...store.upsert import inserting
from .audience import LAID_DOWN, to_people
from .kept import kept
from .queue import DUTIES_A_ROUND, heed_quiet


def queue_news(db: sa.Connection, channels: Collection[str], now: datetime) -> int:
    """Queue for those who were told of a duty what has become of it; how many deliveries that were.

    Comes before `queue_due` of the same round: who hears that it has moved to this very hour need not hear twice.
    """
    query = (
        sa.select(duty)
        .where(duty.c.news.is_not(None))
        .order_by(duty.c.household_id, duty.c.key)
        .limit(DUTIES_A_ROUND)
        .with_for_update(skip_locked=True)
    )
    queued = 0
    for row in db.execute(query).all():
        is_worth_it = row.news != WITHDRAWN or row.kind in WORTH_WITHDRAWING
        if is_worth_it and row.done_at is None and row.until_at > milliseconds(now):
            queued += sum(_queue(db, row, channel, now) for channel in sorted(channels))
            heed_quiet(db, kept(row), row.household_id, now)
        db.execute(sa.update(duty).where(*_mine(row)).values(news=None))
    return queued


def _queue(db: sa.Connection, row: Any, channel: str, now: datetime) -> int:
    told = to_people(channel, row.news, milliseconds(now)).where(*_mine(row), _was_told(channel))
    return db.execute(inserting(db, delivery).from_select(LAID_DOWN, told).on_conflict_do_nothing()).rowcount


def _mine(row: Any) -> tuple[sa.ColumnElement[bool], ...]:
    return duty.c.household_id == row.household_id, duty.c.key == row.key


def _was_told(channel: str) -> sa.ColumnElement[bool]:
    """Whether the person has had a message of this duty by that channel."""
    before = delivery.alias("before")
    return sa.exists().where(
        before.c.household_id == duty.c.household_id,
        before.c.duty_key == duty.c.key,
        before.c.person_id == person.c.person_id,
        before.c.channel == channel,
        before.c.state == "sent",
        before.c.matter != WITHDRAWN,
    )
