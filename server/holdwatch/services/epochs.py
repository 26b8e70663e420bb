"""A database was set back to an earlier state of itself: it begins a new epoch, and everybody must sign in anew."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ..records.instants import from_milliseconds, instant_text, parse_instant
from ..store.migrate import Identity
from ..store.tables import device_session, household, server_identity
from .access import end_everything, tell_people
from .derived import derived_body, put_derived
from .identity import set_back

SET_BACK = "set_back"
"""What phones are told of it: when it was done, and when the last of them was heard in what it was set back to."""

Heard = Mapping[str, datetime | None]


def last_heard(db: sa.Connection) -> Heard:
    """When any phone of each household was heard last; None of a household that never had one."""
    table = household.outerjoin(device_session, device_session.c.household_id == household.c.household_id)
    latest = sa.select(household.c.household_id, sa.func.max(device_session.c.seen_at))
    rows = db.execute(latest.select_from(table).group_by(household.c.household_id))
    return {household_id: None if at is None else from_milliseconds(at) for household_id, at in rows}


def set_back_at(db: sa.Connection, household_id: str) -> datetime | None:
    """When the household's server was set back last; None where it never was, as far as is known."""
    told = derived_body(db, household_id, SET_BACK, None)
    return parse_instant(told["at"]) if told else None


def begin_epoch(db: sa.Connection, heard: Heard, now: datetime, known: Iterable[str] = ()) -> Identity:
    """Give the database a new epoch, end all that lets anybody in without a password, and tell every household.

    `heard` is what `last_heard` said of what the database was set back to; `known` are epochs that phones may name and
    that it does not remember itself.
    """
    row: Any = db.execute(sa.select(server_identity)).one()
    before = Identity(row.database_id, row.epoch, row.vapid_private, row.vapid_public, row.earlier_epochs)
    identity = set_back(before, known)
    remembered = {"epoch": identity.epoch, "earlier_epochs": identity.earlier_epochs}
    db.execute(sa.update(server_identity).values(remembered))
    end_everything(db, now)
    for household_id in db.scalars(sa.select(household.c.household_id).order_by(household.c.household_id)).all():
        ends_at = heard.get(household_id)
        told = {"at": instant_text(now), "ends_at": ends_at and instant_text(ends_at)}
        put_derived(db, household_id, SET_BACK, None, told)
        tell_people(db, household_id)
    return identity
