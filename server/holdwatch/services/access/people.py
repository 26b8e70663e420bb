"""The people of a household: how they are added, told of, and removed."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from unicodedata import normalize
from uuid import uuid4

import sqlalchemy as sa

from ...records.instants import milliseconds
from ...store.tables import household, person
from ..derived import put_derived, raise_revision
from .errors import NotAllowed, NotFound, NotUsable
from .sessions import Who, close_sessions, require_owner

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
        taken = "Somebody on this server has this sign-in name already. Choose another."
        raise NotUsable(taken, {"login": [taken]}) from None
    tell_people(db, household_id)
    return person_id


def remove_person(db: sa.Connection, who: Who, person_id: str, now: datetime) -> None:
    """End a person's access for good; what they logged stays. Only the owner may, and the owner stays."""
    require_owner(who)
    if person_id == who.person_id:
        raise NotAllowed("The owner of a household cannot be removed.")
    found = (person.c.household_id == who.household_id, person.c.person_id == person_id)
    # The login is free again; one with a blank in it can never be typed.
    gone = {"removed_at": milliseconds(now), "login": f"removed {person_id}", "password_hash": ""}
    statement = sa.update(person).where(*found, person.c.removed_at.is_(None)).values(gone)
    if db.execute(statement).rowcount != 1:
        raise NotFound("There is no such person in this household.")
    close_sessions(db, who.household_id, person_id, now)
    tell_people(db, who.household_id)


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
