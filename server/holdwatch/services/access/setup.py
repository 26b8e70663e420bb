"""A household is founded with a one-time code, which the server prints where it was started."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from secrets import token_urlsafe
from uuid import uuid4

import sqlalchemy as sa

from ...records.instants import milliseconds
from ...store.tables import household, person, setup_code
from .errors import NotAllowed, NotUsable
from .people import add_person
from .sessions import Opened, Phone, open_session
from .tokens import digest

CODE_LIVES = timedelta(hours=1)


@dataclass(frozen=True)
class Founding:
    """A household that is to be, and its owner."""

    household: str
    name: str
    login: str
    password_hash: str


def has_owner(db: sa.Connection) -> bool:
    """Whether anybody was ever set up on this server."""
    return db.execute(sa.select(person.c.person_id).limit(1)).first() is not None


def new_setup_code(db: sa.Connection, now: datetime) -> str:
    """A code that founds one household within the hour; only its hash is kept."""
    db.execute(sa.delete(setup_code).where(setup_code.c.expires_at < milliseconds(now)))
    code = token_urlsafe(24)
    row = {"code_hash": digest(code), "expires_at": milliseconds(now + CODE_LIVES)}
    db.execute(sa.insert(setup_code).values(row))
    return code


def check_setup_code(db: sa.Connection, code: str, from_loopback: bool, now: datetime) -> None:
    """NotAllowed from elsewhere while there is no owner, NotUsable for a code that is not good."""
    if not from_loopback and not has_owner(db):
        raise NotAllowed("The first household is set up on the machine that the server runs on.")
    if db.execute(sa.select(setup_code).where(*_good(code, now))).first() is None:
        raise _stale()


def found_household(
    db: sa.Connection, code: str, founding: Founding, from_loopback: bool, phone: Phone, now: datetime
) -> Opened:
    """Spend the code, found the household, and sign its owner in."""
    check_setup_code(db, code, from_loopback, now)
    spent = sa.update(setup_code).where(*_good(code, now)).values(spent_at=milliseconds(now))
    if db.execute(spent).rowcount != 1:
        raise _stale()
    household_id = str(uuid4())
    row = {"household_id": household_id, "name": founding.household, "created_at": milliseconds(now)}
    db.execute(sa.insert(household).values(row))
    person_id = add_person(db, household_id, founding.name, "owner", founding.login, founding.password_hash, now)
    return open_session(db, household_id, person_id, "owner", phone, now)


def _good(code: str, now: datetime) -> tuple[sa.ColumnElement[bool], ...]:
    table = setup_code.c
    return (
        table.code_hash == digest(code),
        table.expires_at > milliseconds(now),
        table.spent_at.is_(None),
    )


def _stale() -> NotUsable:
    return NotUsable(
        "This setup address was used already or is older than an hour. Start the server again for a new one."
    )
