"""A password is renewed by whoever knows the present one, or, where it is forgotten, by a link from the machine itself.

The link is for the owner of a household, who has nobody above him to invite him anew; a member who forgot his password
is removed and invited again, and what he logged stays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import uuid4

import sqlalchemy as sa

from ...records.instants import milliseconds
from ...store.tables import household, person, recovery
from .attempts import forget, forgive
from .errors import NotAllowed, NotFound, NotUsable, WrongLogin, WrongPassword
from .sessions import Opened, Phone, Who, close_sessions, open_session, still_here
from .signing_in import Knock, check_password
from .tokens import Token, digest, new_token, opened_row

RECOVERY_LIVES = timedelta(hours=1)


@dataclass(frozen=True)
class Owner:
    """The owner of a household, as whoever runs the server knows him apart."""

    household_id: str
    household: str
    person_id: str
    name: str
    login: str


def check_own_password(knocked: Knock, password: str) -> None:
    """WrongPassword where it is not the one of the person who is signed in."""
    try:
        check_password(knocked, password)
    except WrongLogin:
        raise WrongPassword from None


def change_password(db: sa.Connection, who: Who, knocked: Knock, password_hash: str, now: datetime) -> None:
    """Keep the new password, forget the failures, and sign the person's other phones out."""
    still_here(db, who)
    mine = (person.c.household_id == who.household_id, person.c.person_id == who.person_id)
    # Only in the place of the one that was checked: it may have been changed on another phone meanwhile.
    changed = sa.update(person).where(*mine, person.c.password_hash == knocked.password_hash)
    if db.execute(changed.values(password_hash=password_hash)).rowcount != 1:
        raise WrongPassword
    forgive(db, knocked.login, knocked.address)
    close_sessions(db, who.household_id, who.person_id, now, but=who.session_id)


def owners(db: sa.Connection) -> Sequence[Owner]:
    """The owners of all households, by the household's name."""
    query = (
        sa.select(person, household.c.name.label("household"))
        .join(household, household.c.household_id == person.c.household_id)
        .where(person.c.role == "owner", person.c.removed_at.is_(None))
        .order_by(household.c.name, household.c.household_id)
    )
    return [Owner(row.household_id, row.household, row.person_id, row.name, row.login) for row in db.execute(query)]


def new_recovery(db: sa.Connection, owner: Owner, now: datetime) -> Token:
    """A secret with which this owner sets a new password within the hour, once; earlier ones are useless then."""
    mine = (recovery.c.household_id == owner.household_id, recovery.c.person_id == owner.person_id)
    db.execute(sa.delete(recovery).where(*mine))
    token = new_token(owner.household_id, str(uuid4()))
    row = {
        "household_id": owner.household_id,
        "recovery_id": token.own_id,
        "person_id": owner.person_id,
        "secret_hash": digest(token.secret),
        "expires_at": milliseconds(now + RECOVERY_LIVES),
    }
    db.execute(sa.insert(recovery).values(row))
    return token


def recovery_for(db: sa.Connection, token_text: str, from_loopback: bool, now: datetime) -> Any:
    """The recovery whose secret this is, with its person; unspent by looking. NotAllowed, NotFound or NotUsable."""
    if not from_loopback:
        raise NotAllowed("A forgotten password is renewed on the machine that the server runs on.")
    row = opened_row(db, token_text, _row)
    if row is None:
        raise NotFound("There is no such address for a new password. Copy all of it, or have a new one printed.")
    if row.spent_at is not None or row.expires_at <= milliseconds(now):
        raise NotUsable("This address was used already or is older than an hour. Have a new one printed.")
    return row


def recover(
    db: sa.Connection, token_text: str, password_hash: str, from_loopback: bool, phone: Phone, now: datetime
) -> Opened:
    """Spend the secret, keep the new password, sign every phone of the person out and this one in."""
    row = recovery_for(db, token_text, from_loopback, now)
    key = (recovery.c.household_id == row.household_id, recovery.c.recovery_id == row.recovery_id)
    spent = sa.update(recovery).where(*key, recovery.c.spent_at.is_(None)).values(spent_at=milliseconds(now))
    if db.execute(spent).rowcount != 1:
        raise NotUsable("This address was used just now. Have a new one printed.")
    mine = (person.c.household_id == row.household_id, person.c.person_id == row.person_id)
    db.execute(sa.update(person).where(*mine).values(password_hash=password_hash))
    forget(db, row.login)
    close_sessions(db, row.household_id, row.person_id, now)
    return open_session(db, row.household_id, row.person_id, row.role, phone, now)


def _row(db: sa.Connection, household_id: str, recovery_id: str) -> Any:
    together = sa.and_(person.c.household_id == recovery.c.household_id, person.c.person_id == recovery.c.person_id)
    named = (recovery.c.household_id == household_id, recovery.c.recovery_id == recovery_id)
    query = sa.select(recovery, person.c.name, person.c.login, person.c.role).join(person, together)
    return db.execute(query.where(*named, person.c.removed_at.is_(None))).one_or_none()
