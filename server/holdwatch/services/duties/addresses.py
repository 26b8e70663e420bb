"""Where a person is reached by a channel: the phones of his that get reminders, or his address of e-mail."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

import sqlalchemy as sa

from ...channels.message import Address
from ...store.tables import device_session, push_subscription, reminder_wish

MAIL = "email"


def addresses_of(db: sa.Connection, key: Mapping[str, Any], reached: Collection[str]) -> tuple[Address, ...]:
    """The addresses by which the channel of that delivery reaches its person, but for those that have it already."""
    household_id, person_id = key["household_id"], key["person_id"]
    find = _mail if key["channel"] == MAIL else _phones
    return tuple(one for one in find(db, household_id, person_id) if one.id not in reached)


def _phones(db: sa.Connection, household_id: str, person_id: str) -> list[Address]:
    """Those that are signed in and get reminders."""
    table, session = push_subscription, device_session
    same = sa.and_(session.c.household_id == table.c.household_id, session.c.session_id == table.c.session_id)
    query = (
        sa.select(table)
        .join(session, same)
        .where(
            table.c.household_id == household_id,
            table.c.person_id == person_id,
            session.c.revoked_at.is_(None),
        )
        .order_by(table.c.session_id)
    )
    return [Address(row.session_id, row.endpoint, row.p256dh, row.auth) for row in db.execute(query)]


def _mail(db: sa.Connection, household_id: str, person_id: str) -> list[Address]:
    query = sa.select(reminder_wish.c.email).filter_by(household_id=household_id, person_id=person_id)
    address = db.scalar(query)
    return [Address(MAIL, address, "", "")] if address else []
