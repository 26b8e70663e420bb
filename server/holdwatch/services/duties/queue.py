"""The queue of deliveries: our own table, so that planning and queueing are safe in one database.

A delivery's key is (duty, version, person, channel, matter): it tells that a duty is *due*, or *again* where its person
had put it off, or what became of one that he was told of (`news.py`). It is `waiting` until it is `sent`, or `dropped`
because the duty has lost its use, or `no_way` while its person has no phone that gets reminders.
"""

from __future__ import annotations

import json
from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import sqlalchemy as sa

from ...channels.message import AGAIN, DUE, MOVED, WITHDRAWN, Address
from ...channels.words import URGENT
from ...domain.duties.turns import IN_TURN, Asking, asking
from ...records.instants import milliseconds
from ...store.tables import delivery, duty, person
from ...store.upsert import inserting
from ..rota import whose_turn
from .addresses import MAIL, addresses_of
from .audience import LAID_DOWN, concerns, may_be_told, to_people
from .kept import Kept, kept
from .links import make_link
from .wishes import quiet_until, wishes_of

LEASE = timedelta(seconds=120)
DUTIES_A_ROUND = 200
NOBODY = frozenset[str]()
OVER = Asking(NOBODY, NOBODY, None)
KEY = ("household_id", "duty_key", "version", "person_id", "channel", "matter")


@dataclass(frozen=True)
class Claimed:
    """One delivery that is this worker's until its lease ends."""

    key: dict[str, Any]
    kept: Kept
    addresses: tuple[Address, ...]
    reached: tuple[str, ...]
    tries: int
    lease_until: int
    lease_by: str
    link_path: str = ""
    """Of the duty's own page for this person, where the channel needs one."""


def queue_due(db: sa.Connection, channels: Collection[str], now: datetime) -> int:
    """Queue the deliveries of what people are to be told by now; how many duties that were."""
    query = (
        sa.select(duty)
        .where(duty.c.queued.is_(False), duty.c.ask_at <= milliseconds(now))
        .order_by(duty.c.ask_at)
        .limit(DUTIES_A_ROUND)
        .with_for_update(skip_locked=True)
    )
    queued = 0
    for row in db.execute(query).all():
        # What is over has nothing to tell, and is not looked at again either, unless it changes.
        step = _step(db, row, now) if _is_standing(row, now) else OVER
        if step.whom != NOBODY:
            _queue_due(db, row, step, channels, now)
            queued += 1
        mine = sa.update(duty).filter_by(household_id=row.household_id, key=row.key)
        later = {"ask_at": milliseconds(step.next_at)} if step.next_at else {"queued": True}
        db.execute(mine.values(later))
    return queued


def _step(db: sa.Connection, row: Any, now: datetime) -> Asking:
    one = kept(row).duty
    turns = whose_turn(db, row.household_id, one.night, one.due_at) if one.kind in IN_TURN else NOBODY
    return asking(one, turns, now)


def _queue_due(db: sa.Connection, row: Any, step: Asking, channels: Collection[str], now: datetime) -> None:
    mine = (duty.c.household_id == row.household_id, duty.c.key == row.key)
    for channel in sorted(channels):
        db.execute(_insert_due(db, mine, channel, step.whom, now))
        for person_id in sorted(step.again):
            db.execute(_insert_again(db, (*mine, _was_asked_early(channel)), channel, person_id, row.tell_at))
        for person_id, until in json.loads(row.put_off).items():
            db.execute(_insert_again(db, mine, channel, person_id, until))
    heed_quiet(db, kept(row), row.household_id, now)


def _is_standing(row: Any, now: datetime) -> bool:
    return row.withdrawn_at is None and row.done_at is None and row.until_at > milliseconds(now)


def drop_useless(db: sa.Connection, now: datetime) -> int:
    """Let go of deliveries whose duty is done, withdrawn, moved, over or another's; how many they were."""
    useful = sa.exists().where(_same_duty(), _is_of_use(now))
    here = sa.exists().where(_same_person(delivery.c.person_id), person.c.removed_at.is_(None))
    statement = (
        sa.update(delivery)
        .where(delivery.c.state == "waiting", _free(now), sa.not_(sa.and_(useful, here)))
        .values(
            # One of his phones has it: then it was sent, though another one never got it.
            state=sa.case((delivery.c.reached != "[]", "sent"), else_="dropped"),
            lease_until=None,
            lease_by=None,
            trouble=sa.func.coalesce(delivery.c.trouble, "no longer of use"),
        )
    )
    return db.execute(statement).rowcount


def claim(db: sa.Connection, channels: Collection[str], worker_name: str, now: datetime, most: int) -> list[Claimed]:
    """Take the next deliveries, at most so many, for this worker until the lease ends."""
    due = db.execute(_next(channels, now, most)).all() if most > 0 else []
    found = (_claim(db, row, worker_name, now) for row in due)
    return [one for one in found if one is not None]


def _claim(db: sa.Connection, row: Any, worker_name: str, now: datetime) -> Claimed | None:
    key = {name: getattr(row, name) for name in KEY}
    until = milliseconds(now + LEASE)
    statement = sa.update(delivery).filter_by(**key).where(delivery.c.state == "waiting", _free(now))
    taken = db.execute(statement.values(lease_until=until, lease_by=worker_name, tries=row.tries + 1))
    if taken.rowcount != 1:
        return None
    reached = tuple(json.loads(row.reached))
    addresses, one = addresses_of(db, key, reached), kept(row)
    # A letter is read where nobody is signed in.
    wants_link = row.channel == MAIL and addresses
    link = make_link(db, row.household_id, row.person_id, one.duty, now) if wants_link else ""
    return Claimed(key, one, addresses, reached, row.tries + 1, until, worker_name, link)


def _next(channels: Collection[str], now: datetime, most: int) -> sa.Select:
    wanted = [column for column in duty.c if column.name not in ("household_id", "version")]
    return (
        sa.select(*(delivery.c[name] for name in KEY), delivery.c.tries, delivery.c.reached, *wanted)
        .join(duty, _same_duty())
        .where(
            delivery.c.state == "waiting",
            delivery.c.next_at <= milliseconds(now),
            delivery.c.channel.in_(sorted(channels)),
            _free(now),
            _is_of_use(now),
        )
        .order_by(delivery.c.next_at)
        .limit(most)
        .with_for_update(of=delivery, skip_locked=True)
    )


def _was_asked_early(channel: str) -> sa.ColumnElement[bool]:
    """Whether the person was told of the duty, as it stands now, before it was time."""
    early = delivery.alias("early")
    return sa.exists().where(
        *(early.c[name] == duty.c[name] for name in ("household_id", "version")),
        *(early.c.duty_key == duty.c.key, early.c.person_id == person.c.person_id),
        *(early.c.channel == channel, early.c.matter == DUE, early.c.state == "sent", early.c.next_at < duty.c.tell_at),
    )


def _insert_due(
    db: sa.Connection, mine: tuple[Any, ...], channel: str, whom: Collection[str] | None, now: datetime
) -> Any:
    """A delivery for everybody it concerns, or for some of them, but for those who hear just now that it has moved."""
    hears = delivery.alias("hears")
    is_told = sa.exists().where(
        *(hears.c[name] == duty.c[name] for name in ("household_id", "version")),
        *(hears.c.duty_key == duty.c.key, hears.c.person_id == person.c.person_id),
        *(hears.c.channel == channel, hears.c.matter == MOVED, hears.c.next_at >= duty.c.tell_at),
    )
    asked = () if whom is None else (person.c.person_id.in_(sorted(whom)),)
    told = (*mine, *asked, concerns(person.c.person_id), may_be_told(now), sa.not_(is_told))
    people = to_people(channel, DUE, milliseconds(now)).where(*told)
    again = {"state": "waiting", "next_at": milliseconds(now), "trouble": None}
    return (
        inserting(db, delivery)
        .from_select(LAID_DOWN, people)
        .on_conflict_do_update(index_elements=list(KEY), set_=again, where=delivery.c.state == "dropped")
    )


def _insert_again(db: sa.Connection, mine: tuple[Any, ...], channel: str, person_id: str, until: int) -> Any:
    """One more delivery for whoever put it off, at the time that he named."""
    his = to_people(channel, f"{AGAIN} {until}", until).where(*mine, person.c.person_id == person_id)
    return inserting(db, delivery).from_select(LAID_DOWN, his.where(duty.c.until_at > until)).on_conflict_do_nothing()


def heed_quiet(db: sa.Connection, one: Kept, household_id: str, now: datetime) -> None:
    """Let what was queued just now wait for the end of each person's quiet hours, where he has some at this time."""
    for person_id, wish in wishes_of(db, household_id).items():
        until = quiet_until(wish, now)
        if until is None or (wish.catch_breaks_quiet and one.duty.kind in URGENT):
            continue
        fresh = (delivery.c.state == "waiting", delivery.c.tries == 0, delivery.c.next_at < milliseconds(until))
        his = sa.update(delivery).filter_by(
            household_id=household_id, duty_key=one.duty.key, version=one.version, person_id=person_id
        )
        db.execute(his.where(*fresh).values(next_at=milliseconds(until), trouble="quiet hours"))


def _stands(now: datetime) -> Any:
    return sa.and_(duty.c.withdrawn_at.is_(None), duty.c.done_at.is_(None), duty.c.until_at > milliseconds(now))


def _is_of_use(now: datetime) -> Any:
    """Whether a delivery's person should hear of the duty: that one was withdrawn, whatever else holds of it."""
    withdrawn = sa.and_(duty.c.withdrawn_at.is_not(None), duty.c.until_at > milliseconds(now))
    stands = sa.and_(_stands(now), concerns(delivery.c.person_id))
    return sa.case((delivery.c.matter == WITHDRAWN, withdrawn), else_=stands)


def _same_duty() -> Any:
    return sa.and_(
        duty.c.household_id == delivery.c.household_id,
        duty.c.key == delivery.c.duty_key,
        duty.c.version == delivery.c.version,
    )


def _same_person(person_id: Any) -> Any:
    return sa.and_(person.c.household_id == delivery.c.household_id, person.c.person_id == person_id)


def _free(now: datetime) -> Any:
    return sa.or_(delivery.c.lease_until.is_(None), delivery.c.lease_until <= milliseconds(now))
