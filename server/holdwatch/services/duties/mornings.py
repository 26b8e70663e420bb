"""The summary of a morning for those who want one: queued, claimed and handed over as a duty of theirs alone.

Nothing is told to whom nothing is asked of. The row of one morning goes when the next comes; until then it says what
became of it.
"""

from __future__ import annotations

import logging
from datetime import datetime, timedelta
from typing import Any

import sqlalchemy as sa

from ...channels.message import Message
from ...channels.words import MORNING, summary_of
from ...domain.duties.morning import next_morning, of_the_day
from ...records.instants import from_milliseconds, milliseconds
from ...store.tables import delivery, duty, person, reminder_wish
from ...store.upsert import inserting
from ..away import is_away
from .kept import Kept, kept
from .wishes import wish_in

OF_USE = timedelta(hours=12)
MORNINGS_A_ROUND = 200

log = logging.getLogger(__name__)


def queue_mornings(db: sa.Connection, now: datetime) -> int:
    """Plan the summaries whose time has come, for `queue_due` to queue; of how many people."""
    here = (person.c.household_id == reminder_wish.c.household_id) & (person.c.person_id == reminder_wish.c.person_id)
    query = (
        sa.select(reminder_wish, is_away(reminder_wish, now).label("is_away"))
        .join(person, here)
        .where(reminder_wish.c.next_morning_at <= milliseconds(now), person.c.removed_at.is_(None))
        .order_by(reminder_wish.c.next_morning_at)
        .limit(MORNINGS_A_ROUND)
        .with_for_update(of=reminder_wish, skip_locked=True)
    )
    rows = db.execute(query).all()
    for row in rows:
        _go_on_to_the_next(db, row, now)
        if _is_of_use(db, row, now):
            db.execute(inserting(db, duty).values(_row(row)).on_conflict_do_nothing())
    return len(rows)


def summary(db: sa.Connection, household_id: str, one: Kept, now: datetime) -> Message:
    """The message of a summary, with what is asked of its person as things stand."""
    return summary_of(one.duty, _asked_of(db, household_id, one.duty.brood, now), now)


def _go_on_to_the_next(db: sa.Connection, row: Any, now: datetime) -> None:
    wish, at = wish_in(row), from_milliseconds(row.next_morning_at)
    following = wish.morning_at and milliseconds(next_morning(wish.morning_at, wish.zone, max(now, at)))
    mine = sa.update(reminder_wish).filter_by(household_id=row.household_id, person_id=row.person_id)
    db.execute(mine.values(next_morning_at=following))
    _forget_those_before(db, row.household_id, row.person_id, now)


def _is_of_use(db: sa.Connection, row: Any, now: datetime) -> bool:
    if now >= from_milliseconds(row.next_morning_at) + OF_USE:
        log.info("a summary of %s was dropped: no longer of use", row.person_id)
        return False
    return not row.is_away and bool(_asked_of(db, row.household_id, row.person_id, now))


def _row(row: Any) -> dict[str, Any]:
    wish, at = wish_in(row), from_milliseconds(row.next_morning_at)
    day = at.astimezone(wish.zone).date().isoformat()
    times = {"due_at": at, "tell_at": at, "ask_at": at, "until_at": at + OF_USE}
    return {
        "household_id": row.household_id,
        "key": f"{MORNING}:{row.person_id}:{day}",
        "kind": MORNING,
        "brood_id": row.person_id,
        "night": day,
        "zone": wish.zone.key,
        "taken_by": row.person_id,
        "version": 1,
        "queued": False,
        **{name: milliseconds(instant) for name, instant in times.items()},
    }


def _asked_of(db: sa.Connection, household_id: str, person_id: str, now: datetime) -> list[Kept]:
    """What is asked of that person within the day."""
    standing = (duty.c.withdrawn_at.is_(None), duty.c.done_at.is_(None), duty.c.until_at > milliseconds(now))
    mine = (duty.c.household_id == household_id, duty.c.kind != MORNING)
    found = {row.key: kept(row) for row in db.execute(sa.select(duty).where(*mine, *standing))}
    return [found[one.key] for one in of_the_day((one.duty for one in found.values()), person_id, now)]


def _forget_those_before(db: sa.Connection, household_id: str, person_id: str, now: datetime) -> None:
    his = (duty.c.household_id == household_id, duty.c.kind == MORNING, duty.c.brood_id == person_id)
    over = list(db.scalars(sa.select(duty.c.key).where(*his, duty.c.until_at <= milliseconds(now))))
    if over:
        of_them = (delivery.c.household_id == household_id, delivery.c.duty_key.in_(over))
        db.execute(sa.delete(delivery).where(*of_them))
        db.execute(sa.delete(duty).where(duty.c.household_id == household_id, duty.c.key.in_(over)))
