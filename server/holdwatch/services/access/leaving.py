"""A person leaves the household, by himself or because the owner wants it, and may be invited again."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

import sqlalchemy as sa

from ...domain.duties.duty import OF_A_NURSERY
from ...records.instants import from_milliseconds, milliseconds
from ...store.tables import calendar_feed, duty, duty_link, invitation, person
from ..recomputing import ask_for_broods
from ..watched_nurseries import look_at_batch
from ..watched_water import look_at_water
from .errors import NotAllowed, NotFound
from .people import tell_people
from .sessions import Who, close_sessions, require_owner

OF_THE_WATER = frozenset({"too_warm", "too_cold"})

Departures = Mapping[str, datetime | None]
"""By person: until when they were away last, None while they are."""


def remove_person(db: sa.Connection, who: Who, person_id: str, now: datetime) -> None:
    """End a person's access at once; what they logged stays, and bears their name.

    Everybody may leave, and the owner may remove others; the owner stays.
    """
    if person_id != who.person_id:
        require_owner(who)
    elif who.role == "owner":
        raise NotAllowed("The owner of a household cannot leave it, nor be removed.")
    found = (person.c.household_id == who.household_id, person.c.person_id == person_id)
    # The login is free again; one with a blank in it can never be typed.
    gone = {"removed_at": milliseconds(now), "login": f"removed {person_id}", "password_hash": ""}
    statement = sa.update(person).where(*found, person.c.removed_at.is_(None)).values(gone)
    if db.execute(statement).rowcount != 1:
        raise NotFound("There is no such person in this household.")
    close_sessions(db, who.household_id, person_id, now)
    # For ever: also where he comes back, nobody may read on by an address of before.
    for table in (calendar_feed, duty_link):
        db.execute(sa.delete(table).filter_by(household_id=who.household_id, person_id=person_id))
    _withdraw_invitations(db, who.household_id, person_id, now)
    tell_people(db, who.household_id)
    _hand_duties_back(db, who.household_id, person_id, now)


def departures(db: sa.Connection, household_id: str) -> Departures:
    """Everybody who is away or has been: what they took on before that is theirs no longer."""
    away = sa.select(person.c.person_id).where(person.c.household_id == household_id, person.c.removed_at.is_not(None))
    again = (invitation.c.household_id == household_id, invitation.c.person_id.is_not(None))
    back = sa.select(invitation.c.person_id, sa.func.max(invitation.c.spent_at)).where(*again)
    back = back.where(invitation.c.spent_at.is_not(None))
    returned = {one: from_milliseconds(at) for one, at in db.execute(back.group_by(invitation.c.person_id))}
    return {**returned, **dict.fromkeys(db.scalars(away))}


def _withdraw_invitations(db: sa.Connection, household_id: str, person_id: str, now: datetime) -> None:
    """A second link to come back by must not outlive another leaving."""
    mine = (invitation.c.household_id == household_id, invitation.c.person_id == person_id)
    db.execute(sa.update(invitation).where(*mine, invitation.c.spent_at.is_(None)).values(spent_at=milliseconds(now)))


def _hand_duties_back(db: sa.Connection, household_id: str, person_id: str, now: datetime) -> None:
    """Have planned anew what he had taken: then it is anybody's."""
    mine = (duty.c.household_id == household_id, duty.c.taken_by == person_id)
    open_ones = (duty.c.done_at.is_(None), duty.c.withdrawn_at.is_(None), duty.c.until_at > milliseconds(now))
    rows = db.execute(sa.select(duty.c.kind, duty.c.brood_id).where(*mine, *open_ones)).all()
    broods = {(household_id, row.brood_id) for row in rows if row.kind not in OF_THE_WATER | OF_A_NURSERY}
    ask_for_broods(db, broods, now)
    for row in rows:
        if row.kind in OF_THE_WATER:
            look_at_water(db, household_id, row.brood_id, now)
        elif row.kind in OF_A_NURSERY:
            look_at_batch(db, household_id, row.brood_id, now)
