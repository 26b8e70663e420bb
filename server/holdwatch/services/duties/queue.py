"""The queue of deliveries: our own table, so that planning and queueing are safe in one database.

A delivery's key is (duty, version, person, channel). It is `waiting` until it is `sent`, or `dropped` because
the duty has lost its use, or `no_way` while its person has no phone that gets reminders.
"""

from __future__ import annotations

import json
from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import sqlalchemy as sa

from ...channels.message import Address
from ...records.instants import milliseconds
from ...store.tables import delivery, device_session, duty, person, push_subscription
from ...store.upsert import inserting
from .kept import Kept, kept

LEASE = timedelta(seconds=120)
DUTIES_A_ROUND = 200
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


def queue_due(db: sa.Connection, channels: Collection[str], now: datetime) -> int:
    """Queue the deliveries of what people are to be told by now; how many duties that were."""
    query = (
        sa.select(duty.c.household_id, duty.c.key)
        .where(_stands(now), duty.c.tell_at <= milliseconds(now), duty.c.queued.is_(False))
        .order_by(duty.c.tell_at)
        .limit(DUTIES_A_ROUND)
        .with_for_update(skip_locked=True)
    )
    due = db.execute(query).all()
    for household_id, key in due:
        mine = (duty.c.household_id == household_id, duty.c.key == key)
        for channel in sorted(channels):
            db.execute(_insert_deliveries(db, mine, channel, now))
        db.execute(sa.update(duty).where(*mine).values(queued=True))
    return len(due)


def drop_useless(db: sa.Connection, now: datetime) -> int:
    """Let go of deliveries whose duty is done, withdrawn, moved, over or another's; how many they were."""
    useful = sa.exists().where(_same_duty(), _stands(now), _concerns(delivery.c.person_id))
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


def claim(db: sa.Connection, channels: Collection[str], worker_name: str, now: datetime) -> Claimed | None:
    """Take the next delivery for this worker until the lease ends; None if none is due."""
    row = db.execute(_next(channels, now)).first()
    if row is None:
        return None
    key = {name: getattr(row, name) for name in KEY}
    until = milliseconds(now + LEASE)
    statement = sa.update(delivery).filter_by(**key).where(delivery.c.state == "waiting", _free(now))
    taken = db.execute(statement.values(lease_until=until, lease_by=worker_name, tries=row.tries + 1))
    if taken.rowcount != 1:
        return None
    reached = tuple(json.loads(row.reached))
    addresses = _addresses(db, row.household_id, row.person_id, reached)
    return Claimed(key, kept(row), addresses, reached, row.tries + 1, until, worker_name)


def _next(channels: Collection[str], now: datetime) -> sa.Select:
    wanted = [column for column in duty.c if column.name not in ("household_id", "version")]
    return (
        sa.select(*(delivery.c[name] for name in KEY), delivery.c.tries, delivery.c.reached, *wanted)
        .join(duty, _same_duty())
        .where(
            delivery.c.state == "waiting",
            delivery.c.next_at <= milliseconds(now),
            delivery.c.channel.in_(sorted(channels)),
            _free(now),
            _stands(now),
            _concerns(delivery.c.person_id),
        )
        .order_by(delivery.c.next_at)
        .limit(1)
        .with_for_update(of=delivery, skip_locked=True)
    )


def _insert_deliveries(db: sa.Connection, mine: tuple[Any, ...], channel: str, now: datetime) -> Any:
    at = milliseconds(now)
    people = (
        sa.select(
            duty.c.household_id, duty.c.key, duty.c.version, person.c.person_id, sa.literal(channel),
            sa.literal("due"), sa.literal("waiting"), sa.literal(0), sa.literal(at, sa.BigInteger), sa.literal("[]"),
        )
        .join(person, person.c.household_id == duty.c.household_id)
        .where(*mine, person.c.removed_at.is_(None), _concerns(person.c.person_id))
    )  # fmt: skip
    again = {"state": "waiting", "next_at": at, "trouble": None}
    return (
        inserting(db, delivery)
        .from_select([*KEY, "state", "tries", "next_at", "reached"], people)
        .on_conflict_do_update(index_elements=list(KEY), set_=again, where=delivery.c.state == "dropped")
    )


def _addresses(db: sa.Connection, household_id: str, person_id: str, reached: Collection[str]) -> tuple[Address, ...]:
    """The phones of a person that are signed in, get reminders, and do not have this one yet."""
    table = push_subscription
    query = (
        sa.select(table)
        .join(
            device_session,
            sa.and_(
                device_session.c.household_id == table.c.household_id,
                device_session.c.session_id == table.c.session_id,
            ),
        )
        .where(
            table.c.household_id == household_id,
            table.c.person_id == person_id,
            table.c.session_id.not_in(sorted(reached)),
            device_session.c.revoked_at.is_(None),
        )
        .order_by(table.c.session_id)
    )
    return tuple(Address(row.session_id, row.endpoint, row.p256dh, row.auth) for row in db.execute(query))


def _stands(now: datetime) -> Any:
    return sa.and_(duty.c.withdrawn_at.is_(None), duty.c.done_at.is_(None), duty.c.until_at > milliseconds(now))


def _concerns(person_id: Any) -> Any:
    """Loose fry concern everybody, a taken duty its taker alone, as long as he is one of the household."""
    taker = person.alias("taker")
    here = sa.exists().where(
        taker.c.household_id == duty.c.household_id,
        taker.c.person_id == duty.c.taken_by,
        taker.c.removed_at.is_(None),
    )
    return sa.or_(duty.c.kind == "fry_loose", duty.c.taken_by.is_(None), duty.c.taken_by == person_id, sa.not_(here))


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
