"""Signing in takes three steps, so that no transaction is held open while a password is checked."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ...store.tables import person
from .attempts import count_attempt, forgive
from .errors import WrongLogin
from .passwords import NOBODYS_HASH, password_fits
from .people import normal_login
from .sessions import Opened, Phone, Who, open_session


@dataclass(frozen=True)
class Knock:
    """Somebody wants in: counted as a failure until the password was found right."""

    login: str
    address: str
    password_hash: str | None


def knock(db: sa.Connection, login: str, address: str, now: datetime) -> Knock:
    """Count the attempt and find the login; commit before the next step. TooManyAttempts to wait."""
    login = normal_login(login)
    count_attempt(db, login, address, now)
    row = _person(db, login)
    return Knock(login, address, row.password_hash if row else None)


def knock_again(db: sa.Connection, who: Who, address: str, now: datetime) -> Knock:
    """The same for somebody who is signed in and asked for the present password."""
    mine = (person.c.household_id == who.household_id, person.c.person_id == who.person_id)
    return knock(db, db.execute(sa.select(person.c.login).where(*mine)).scalar_one(), address, now)


def check_password(knocked: Knock, password: str) -> None:
    """WrongLogin where it does not fit; it takes as long where nobody has that login."""
    fits = password_fits(password, knocked.password_hash or NOBODYS_HASH)
    if knocked.password_hash is None or not fits:
        raise WrongLogin


def sign_in(db: sa.Connection, knocked: Knock, phone: Phone, now: datetime) -> Opened:
    """Take the failure back and open a session; WrongLogin where the person has changed in between."""
    row = _person(db, knocked.login)
    if row is None or row.password_hash != knocked.password_hash:
        raise WrongLogin
    forgive(db, knocked.login, knocked.address)
    return open_session(db, row.household_id, row.person_id, row.role, phone, now)


def _person(db: sa.Connection, login: str) -> Any:
    query = sa.select(person).where(person.c.login == login, person.c.removed_at.is_(None))
    return db.execute(query).one_or_none()
