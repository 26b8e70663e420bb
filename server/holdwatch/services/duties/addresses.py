"""Where people are reached by a channel: the phones of theirs that get reminders, or their address of e-mail."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping

import sqlalchemy as sa

from ...channels.message import Address
from ...store.tables import device_session, push_subscription, reminder_wish

MAIL = "email"

Whom = tuple[str, str, str]
"""A household, a person of it, and a channel."""


def addresses_of(db: sa.Connection, wanted: Collection[Whom]) -> Mapping[Whom, tuple[Address, ...]]:
    """The addresses by which each of these people is reached by that channel; those who are not reached have none."""
    found: defaultdict[Whom, tuple[Address, ...]] = defaultdict(tuple)
    for channel in {channel for *_, channel in wanted}:
        people = sorted({(household_id, person_id) for household_id, person_id, by in wanted if by == channel})
        for household_id, person_id, address in _mail(db, people) if channel == MAIL else _phones(db, people):
            found[household_id, person_id, channel] += (address,)
    return found


def _among(table: sa.Table) -> sa.ColumnElement[bool]:
    return sa.tuple_(table.c.household_id, table.c.person_id).in_(sa.bindparam("people", expanding=True))


# Made once: to put a statement together takes longer than to run it.
_PHONES = (
    sa.select(push_subscription)
    .join(
        device_session,
        sa.and_(
            device_session.c.household_id == push_subscription.c.household_id,
            device_session.c.session_id == push_subscription.c.session_id,
        ),
    )
    .where(_among(push_subscription), device_session.c.revoked_at.is_(None))
    .order_by(push_subscription.c.session_id)
)
_MAIL = sa.select(reminder_wish).where(_among(reminder_wish), reminder_wish.c.email.is_not(None))


def _phones(db: sa.Connection, people: list[tuple[str, str]]) -> Iterator[tuple[str, str, Address]]:
    """Those that are signed in and get reminders."""
    for row in db.execute(_PHONES, {"people": people}):
        yield row.household_id, row.person_id, Address(row.session_id, row.endpoint, row.p256dh, row.auth)


def _mail(db: sa.Connection, people: list[tuple[str, str]]) -> Iterator[tuple[str, str, Address]]:
    for row in db.execute(_MAIL, {"people": people}):
        if row.email:
            yield row.household_id, row.person_id, Address(MAIL, row.email, "", "")
