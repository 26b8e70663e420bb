"""A phone that is signed in: a long-lived session, named by its cookie and revocable at any time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from random import SystemRandom
from string import ascii_lowercase, digits
from typing import Any
from uuid import uuid4

import sqlalchemy as sa

from ...records.instants import milliseconds
from ...store.tables import device_session, household, person, push_subscription
from .errors import NoLongerMember, NotAllowed, NotFound, SignedOut
from .tokens import digest, new_token, opened_row

# Browsers keep a cookie for 400 days at most (RFC 6265bis, 5.6.1); so long a phone may stay silent.
SESSION_DAYS = 400
SEEN_EVERY = timedelta(hours=1)


@dataclass(frozen=True)
class Who:
    """The person who asks, in which household, with which role, and from which phone."""

    household_id: str
    person_id: str
    role: str
    session_id: str
    device: str
    seen_at: int = 0
    since: int = 0


@dataclass(frozen=True)
class Phone:
    """What a phone says of itself: its name in stamps (None: it has none yet) and words for people."""

    device: str | None
    label: str


@dataclass(frozen=True)
class Opened:
    """A session just opened, and the cookie that names it; the secret in it is not kept."""

    who: Who
    cookie_value: str


def open_session(
    db: sa.Connection, household_id: str, person_id: str, role: str, phone: Phone, now: datetime
) -> Opened:
    """Sign a phone in."""
    token = new_token(household_id, str(uuid4()))
    device = phone.device or _new_device()
    at = milliseconds(now)
    row = {
        "household_id": household_id,
        "session_id": token.own_id,
        "person_id": person_id,
        "secret_hash": digest(token.secret),
        "device": device,
        "label": phone.label,
        "created_at": at,
        "seen_at": at,
    }
    db.execute(sa.insert(device_session).values(row))
    return Opened(Who(household_id, person_id, role, token.own_id, device, at, at), str(token))


def whoever(db: sa.Connection, cookie_value: str | None, now: datetime) -> Who:
    """Who holds this cookie; SignedOut where nobody does, or no longer."""
    row = opened_row(db, cookie_value or "", _living_or_not)
    silent_since = milliseconds(now - timedelta(days=SESSION_DAYS))
    if row is None or row.seen_at < silent_since:
        raise SignedOut
    return _present(db, row)


def still_here(db: sa.Connection, who: Who) -> Who:
    """Who it is by now; SignedOut where the session or the person has gone since."""
    row = _living_or_not(db, who.household_id, who.session_id)
    if row is None:
        raise SignedOut
    return _present(db, row)


def seen_long_ago(who: Who, now: datetime) -> bool:
    """Whether the last sign of life is old enough to be worth a write."""
    return who.seen_at < milliseconds(now - SEEN_EVERY)


def note_seen(db: sa.Connection, who: Who, now: datetime) -> None:
    """Keep when this phone was last there."""
    db.execute(_session(who.household_id, who.session_id, sa.update).values(seen_at=milliseconds(now)))


def devices(db: sa.Connection, who: Who) -> Sequence[Any]:
    """The phones that are signed in: one's own, for the owner those of the household."""
    query = _living_sessions(who.household_id)
    if who.role != "owner":
        query = query.where(device_session.c.person_id == who.person_id)
    return db.execute(query.order_by(device_session.c.created_at, device_session.c.session_id)).all()


def revoke_device(db: sa.Connection, who: Who, session_id: str, now: datetime) -> None:
    """Sign a phone out; NotFound where it is not one's own and one is not the owner."""
    row = _living(db, who.household_id, session_id)
    if row is None or (row.person_id != who.person_id and who.role != "owner"):
        raise NotFound("There is no such phone.")
    close_session(db, who.household_id, session_id, now)


def close_session(db: sa.Connection, household_id: str, session_id: str, now: datetime) -> None:
    """End a session; nothing is pushed to its phone any more."""
    db.execute(_session(household_id, session_id, sa.update).values(revoked_at=milliseconds(now)))
    mine = push_subscription.c.session_id == session_id
    db.execute(sa.delete(push_subscription).where(push_subscription.c.household_id == household_id, mine))


def close_sessions(db: sa.Connection, household_id: str, person_id: str, now: datetime, but: str = "") -> None:
    """End every session of a person, but one if one is named; nothing is pushed to those phones any more."""

    def theirs(table: sa.Table) -> tuple[sa.ColumnElement[bool], ...]:
        return table.c.household_id == household_id, table.c.person_id == person_id, table.c.session_id != but

    ended = sa.update(device_session).where(*theirs(device_session), device_session.c.revoked_at.is_(None))
    db.execute(ended.values(revoked_at=milliseconds(now)))
    db.execute(sa.delete(push_subscription).where(*theirs(push_subscription)))


def require_owner(who: Who) -> None:
    """NotAllowed for everybody but the owner."""
    if who.role != "owner":
        raise NotAllowed("Only the owner of the household can do this.")


def _present(db: sa.Connection, row: Any) -> Who:
    """Who it is; SignedOut where the session has ended, and where the person has left, in words that say so."""
    if row.removed_at is not None:
        mine = person.c.household_id == row.household_id
        owners = db.scalars(sa.select(person.c.name).where(mine, person.c.role == "owner").order_by(person.c.name))
        named = sa.select(household.c.name).where(household.c.household_id == row.household_id)
        raise NoLongerMember(row.person_id, db.execute(named).scalar_one(), " or ".join(owners))
    if row.revoked_at is not None:
        raise SignedOut
    return _who(row)


def _living_sessions(household_id: str) -> sa.Select:
    return _sessions(household_id).where(device_session.c.revoked_at.is_(None), person.c.removed_at.is_(None))


def _sessions(household_id: str) -> sa.Select:
    together = sa.and_(
        person.c.household_id == device_session.c.household_id,
        person.c.person_id == device_session.c.person_id,
    )
    return (
        sa.select(device_session, person.c.role, person.c.name, person.c.removed_at)
        .join(person, together)
        .where(device_session.c.household_id == household_id)
    )


def _living(db: sa.Connection, household_id: str, session_id: str) -> Any:
    query = _living_sessions(household_id).where(device_session.c.session_id == session_id)
    return db.execute(query).one_or_none()


def _living_or_not(db: sa.Connection, household_id: str, session_id: str) -> Any:
    query = _sessions(household_id).where(device_session.c.session_id == session_id)
    return db.execute(query).one_or_none()


def _session(household_id: str, session_id: str, statement: Any) -> Any:
    key = device_session.c.household_id == household_id, device_session.c.session_id == session_id
    return statement(device_session).where(*key)


def _who(row: Any) -> Who:
    return Who(row.household_id, row.person_id, row.role, row.session_id, row.device, row.seen_at, row.created_at)


def _new_device() -> str:
    return "".join(SystemRandom().choices(ascii_lowercase + digits, k=8))
