"""Deliveries in hand: one worker takes them until its lease ends; what is of no use any more is let go of."""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from typing import Any

import sqlalchemy as sa

from ...channels.message import WITHDRAWN, Address, Message
from ...channels.words import MORNING
from ...records.instants import milliseconds
from ...store.tables import delivery, duty, person
from .addresses import MAIL, addresses_of
from .audience import concerns
from .kept import Kept, kept
from .links import make_link
from .mornings import summary

LEASE = timedelta(seconds=120)
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
    summary: Message | None = None
    """What a summary of the morning says."""


def drop_useless(db: sa.Connection, now: datetime) -> int:
    """Let go of deliveries whose duty is done, withdrawn, moved, over or another's; how many they were."""
    at = milliseconds(now)
    useful = sa.exists().where(_same_duty(), _is_of_use(at))
    here = sa.exists().where(_same_person(delivery.c.person_id), person.c.removed_at.is_(None))
    statement = (
        sa.update(delivery)
        .where(delivery.c.state == "waiting", _free(at), sa.not_(sa.and_(useful, here)))
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
    asked = {"now": milliseconds(now), "channels": sorted(channels), "most": most}
    due = db.execute(_next(), asked).all() if most > 0 else []
    if not due:
        return []
    until = milliseconds(now + LEASE)
    # They were locked as they were found: nobody has taken one of them since.
    db.execute(_take(), [{**named(_key(row)), "until": until, "by": worker_name} for row in due])
    known = addresses_of(db, {(row.household_id, row.person_id, row.channel) for row in due})
    # Links are cleared away by households: in one order, so that no two workers wait for each other.
    return [
        _claimed(db, row, known.get((row.household_id, row.person_id, row.channel), ()), until, worker_name, now)
        for row in sorted(due, key=lambda row: row.household_id)
    ]


def _claimed(
    db: sa.Connection, row: Any, known: tuple[Address, ...], until: int, worker_name: str, now: datetime
) -> Claimed:
    reached, one = tuple(json.loads(row.reached)), kept(row)
    addresses = tuple(address for address in known if address.id not in reached)
    told = summary(db, row.household_id, one, now) if row.kind == MORNING else None
    # A letter is read where nobody is signed in.
    wants_link = row.channel == MAIL and addresses and told is None
    link = make_link(db, row.household_id, row.person_id, one.duty, now) if wants_link else ""
    return Claimed(_key(row), one, addresses, reached, row.tries + 1, until, worker_name, link, told)


def _key(row: Any) -> dict[str, Any]:
    return {name: getattr(row, name) for name in KEY}


def is_named() -> sa.ColumnElement[bool]:
    """Whether a delivery is the one whose key the parameters of `named` give."""
    return sa.and_(*(delivery.c[name] == sa.bindparam(f"its_{name}") for name in KEY))


def named(key: Mapping[str, Any]) -> dict[str, Any]:
    """A delivery's key as parameters for `is_named`."""
    return {f"its_{name}": value for name, value in key.items()}


# Statements that are run again and again are made once: SQLAlchemy takes longer to make one than SQLite to run it.
@cache
def _take() -> sa.Update:
    lease = {"lease_until": sa.bindparam("until"), "lease_by": sa.bindparam("by"), "tries": delivery.c.tries + 1}
    return sa.update(delivery).where(is_named()).values(lease)


@cache
def _next() -> sa.Select:
    wanted = [column for column in duty.c if column.name not in ("household_id", "version")]
    now = sa.bindparam("now", type_=sa.BigInteger)
    return (
        sa.select(*(delivery.c[name] for name in KEY), delivery.c.tries, delivery.c.reached, *wanted)
        .join(duty, _same_duty())
        .where(
            delivery.c.state == "waiting",
            delivery.c.next_at <= now,
            delivery.c.channel.in_(sa.bindparam("channels", expanding=True)),
            _free(now),
            _is_of_use(now),
        )
        .order_by(delivery.c.next_at)
        .limit(sa.bindparam("most", type_=sa.Integer))
        .with_for_update(of=delivery, skip_locked=True)
    )


def _is_of_use(at: Any) -> Any:
    """Whether a delivery's person should hear of the duty: that one was withdrawn, whatever else holds of it."""
    withdrawn = sa.and_(duty.c.withdrawn_at.is_not(None), duty.c.until_at > at)
    stands = sa.and_(duty.c.withdrawn_at.is_(None), duty.c.done_at.is_(None), duty.c.until_at > at)
    concerned = sa.and_(stands, concerns(delivery.c.person_id))
    return sa.case((delivery.c.matter == WITHDRAWN, withdrawn), else_=concerned)


def _same_duty() -> Any:
    return sa.and_(
        duty.c.household_id == delivery.c.household_id,
        duty.c.key == delivery.c.duty_key,
        duty.c.version == delivery.c.version,
    )


def _same_person(person_id: Any) -> Any:
    return sa.and_(person.c.household_id == delivery.c.household_id, person.c.person_id == person_id)


def _free(at: Any) -> Any:
    return sa.or_(delivery.c.lease_until.is_(None), delivery.c.lease_until <= at)
