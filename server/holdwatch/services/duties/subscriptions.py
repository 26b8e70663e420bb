"""Which phones get reminders: one subscription a session, sent anew by the phone at each start."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa

from ...records.instants import milliseconds
from ...store.tables import delivery, push_subscription
from ...store.upsert import upserting
from ..access import Who


@dataclass(frozen=True)
class Subscription:
    """A browser's push subscription, its endpoint and keys checked."""

    endpoint: str
    p256dh: str
    auth: str


def subscribe(db: sa.Connection, who: Who, subscription: Subscription, now: datetime) -> None:
    """Let this phone get reminders; sending the same again changes nothing."""
    _take_from_others(db, who, subscription)
    if _is_known(db, who, subscription):
        return
    row = {
        "household_id": who.household_id,
        "session_id": who.session_id,
        "person_id": who.person_id,
        "endpoint": subscription.endpoint,
        "p256dh": subscription.p256dh,
        "auth": subscription.auth,
        "created_at": milliseconds(now),
        "trouble": None,
    }
    db.execute(upserting(db, push_subscription).values(row))
    _try_again(db, who, now)


def unsubscribe(db: sa.Connection, who: Who, endpoint: str) -> None:
    """No reminders to this phone any more; only its own subscription can be ended."""
    mine = _own(who) & (push_subscription.c.endpoint == endpoint)
    db.execute(sa.delete(push_subscription).where(mine))


def _own(who: Who) -> sa.ColumnElement[bool]:
    table = push_subscription
    return (table.c.household_id == who.household_id) & (table.c.session_id == who.session_id)


def _is_known(db: sa.Connection, who: Who, subscription: Subscription) -> bool:
    query = sa.select(push_subscription).where(_own(who)).filter_by(**subscription.__dict__)
    return db.execute(query).first() is not None


def _take_from_others(db: sa.Connection, who: Who, subscription: Subscription) -> None:
    """A phone that signed in anew has its old session's subscription still; it must not ring twice.

    Whoever knows the endpoint and its secret is that phone, so this holds whichever household it was in.
    """
    table = push_subscription
    same = (table.c.endpoint == subscription.endpoint) & (table.c.auth == subscription.auth)
    db.execute(sa.delete(table).where(same, sa.not_(_own(who))))


def _try_again(db: sa.Connection, who: Who, now: datetime) -> None:
    """What found no way to this person has one now."""
    waiting = sa.update(delivery).filter_by(
        household_id=who.household_id, person_id=who.person_id, channel="push", state="no_way"
    )
    db.execute(waiting.values(state="waiting", next_at=milliseconds(now)))
