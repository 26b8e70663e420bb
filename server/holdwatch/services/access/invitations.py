"""The owner invites people by a link; its secret is kept as a hash and is spent by joining."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import uuid4

import sqlalchemy as sa

from ...records.instants import milliseconds
from ...store.tables import invitation, person
from .errors import NotFound, NotUsable
from .people import add_person, bring_back
from .sessions import Opened, Phone, Who, open_session, require_owner
from .tokens import Token, digest, new_token, opened_row

INVITATION_LIVES = timedelta(hours=48)
INVITED_ROLES = ("keeper", "helper")


@dataclass(frozen=True)
class Invited:
    """An invitation just made; its token is told this once."""

    id: str
    token: Token
    expires_at: datetime


def invite(
    db: sa.Connection, who: Who, name: str, role: str, now: datetime, person_id: str | None = None
) -> Invited:
    """Invite somebody by name as keeper or helper; only the owner may. `person_id` names one who left, to return."""
    require_owner(who)
    if person_id is not None:
        _require_gone(db, who.household_id, person_id)
    if role not in INVITED_ROLES:
        raise ValueError(f"nobody is invited as {role}")
    token = new_token(who.household_id, str(uuid4()))
    expires = now + INVITATION_LIVES
    row = {
        "household_id": who.household_id,
        "invitation_id": token.own_id,
        "secret_hash": digest(token.secret),
        "name": name,
        "role": role,
        "created_by": who.person_id,
        "created_at": milliseconds(now),
        "expires_at": milliseconds(expires),
        "person_id": person_id,
    }
    db.execute(sa.insert(invitation).values(row))
    return Invited(token.own_id, token, expires)


def open_invitations(db: sa.Connection, who: Who, now: datetime) -> Sequence[Any]:
    """The household's invitations that can still be used; only the owner may ask."""
    require_owner(who)
    table = invitation.c
    usable = (table.spent_at.is_(None), table.expires_at > milliseconds(now))
    query = sa.select(invitation).where(table.household_id == who.household_id, *usable)
    return db.execute(query.order_by(table.created_at, table.invitation_id)).all()


def withdraw_invitation(db: sa.Connection, who: Who, invitation_id: str, now: datetime) -> None:
    """Make an invitation's link useless; only the owner may. NotFound where it was spent already."""
    require_owner(who)
    if not _spend(db, who.household_id, invitation_id, now):
        raise NotFound("There is no such invitation.")


def invitation_for(db: sa.Connection, token_text: str, now: datetime) -> Any:
    """The invitation whose secret this is, unspent by looking; NotFound or NotUsable."""
    row = opened_row(db, token_text, _row)
    if row is None:
        raise NotFound("There is no such invitation. Ask for the link again, and copy all of it.")
    if row.spent_at is not None:
        raise NotUsable("This invitation was used already or withdrawn. Ask for a new one.")
    if row.expires_at <= milliseconds(now):
        raise NotUsable("This invitation is older than two days. Ask for a new one.")
    return row


def join(db: sa.Connection, token_text: str, login: str, password_hash: str, phone: Phone, now: datetime) -> Opened:
    """Spend the invitation, add the person or let them in again, and sign the phone in."""
    row = invitation_for(db, token_text, now)
    if not _spend(db, row.household_id, row.invitation_id, now):
        raise NotUsable("This invitation was used just now. Ask for a new one.")
    person_id = row.person_id
    if person_id is None:
        person_id = add_person(db, row.household_id, row.name, row.role, login, password_hash, now)
    else:
        bring_back(db, row.household_id, person_id, row.name, row.role, login, password_hash)
    return open_session(db, row.household_id, person_id, row.role, phone, now)


def _row(db: sa.Connection, household_id: str, invitation_id: str) -> Any:
    key = (invitation.c.household_id == household_id, invitation.c.invitation_id == invitation_id)
    return db.execute(sa.select(invitation).where(*key)).one_or_none()


def _spend(db: sa.Connection, household_id: str, invitation_id: str, now: datetime) -> bool:
    key = (invitation.c.household_id == household_id, invitation.c.invitation_id == invitation_id)
    unspent = sa.update(invitation).where(*key, invitation.c.spent_at.is_(None))
    return db.execute(unspent.values(spent_at=milliseconds(now))).rowcount == 1


def _require_gone(db: sa.Connection, household_id: str, person_id: str) -> None:
    mine = (person.c.household_id == household_id, person.c.person_id == person_id)
    row = db.execute(sa.select(person.c.removed_at).where(*mine)).one_or_none()
    if row is None:
        raise NotFound("There is no such person in this household.")
    if row.removed_at is None:
        raise NotUsable("This person is in the household already.")
