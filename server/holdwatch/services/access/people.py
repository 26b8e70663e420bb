"""The people of a household: how they are added, brought back, and told of."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from unicodedata import normalize
from uuid import uuid4

import sqlalchemy as sa

from ...records.instants import milliseconds
from ...store.tables import household, person
from ..derived import put_derived, raise_revision
from .errors import NotUsable
from .sessions import Who

ROLES = ("owner", "keeper", "helper")


def normal_login(login: str) -> str:
    """One form for what people type as their login: no outer blanks, no capitals."""
    return normalize("NFKC", login).strip().casefold()


def add_person(
    db: sa.Connection, household_id: str, name: str, role: str, login: str, password_hash: str, now: datetime
) -> str:
    """Add a person and tell the household's phones; the id. NotUsable where the login is taken."""
    person_id = str(uuid4())
    row = {
        "household_id": household_id,
        "person_id": person_id,
        "name": name,
        "role": role,
        "login": normal_login(login),
        "password_hash": password_hash,
        "created_at": milliseconds(now),
    }
    try:
        db.execute(sa.insert(person).values(row))
    except sa.exc.IntegrityError:
        raise _login_taken() from None
    tell_people(db, household_id)
    return person_id


def bring_back(
    db: sa.Connection, household_id: str, person_id: str, name: str, role: str, login: str, password_hash: str
) -> None:
    """Let somebody in again who left, as the same person: all they logged is theirs. NotUsable where they are here."""
    found = (person.c.household_id == household_id, person.c.person_id == person_id, person.c.removed_at.is_not(None))
    again = {"name": name, "role": role, "login": normal_login(login), "password_hash": password_hash}
    statement = sa.update(person).where(*found).values(**again, removed_at=None)
    try:
        count = db.execute(statement).rowcount
    except sa.exc.IntegrityError:
        raise _login_taken() from None
    if count != 1:
        raise NotUsable("This person is in the household already.")
    tell_people(db, household_id)


def tell_people(db: sa.Connection, household_id: str) -> None:
    """Derive the list of people anew, so that it comes down to every phone."""
    # The household is ours before anybody is read: who joined a moment ago is in the list, or waits for us.
    raise_revision(db, household_id, by=0)
    mine = person.c.household_id == household_id
    rows = db.execute(sa.select(person).where(mine).order_by(person.c.created_at, person.c.person_id))
    people = [
        {"id": row.person_id, "name": row.name, "role": row.role, "gone": row.removed_at is not None} for row in rows
    ]
    named = {"id": household_id, "name": household_name(db, household_id)}
    put_derived(db, household_id, "people", None, {"household": named, "people": people})


def household_name(db: sa.Connection, household_id: str) -> str:
    """What the household calls itself."""
    query = sa.select(household.c.name).where(household.c.household_id == household_id)
    return db.execute(query).scalar_one()


def myself(db: sa.Connection, who: Who) -> dict[str, Any]:
    """The person who asks, and the household."""
    mine = (person.c.household_id == who.household_id, person.c.person_id == who.person_id)
    name = db.execute(sa.select(person.c.name).where(*mine)).scalar_one()
    return {
        "person": {"id": who.person_id, "name": name, "role": who.role},
        "household": {"id": who.household_id, "name": household_name(db, who.household_id)},
    }


def _login_taken() -> NotUsable:
    taken = "Somebody on this server has this sign-in name already. Choose another."
    return NotUsable(taken, {"login": [taken]})
