"""How each person wants to be reminded: quiet hours, what may break them, an address of e-mail, a summary."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, time
from typing import Any
from zoneinfo import ZoneInfo

import sqlalchemy as sa

from ...channels.message import Address
from ...channels.words import URGENT
from ...domain.duties import Kind
from ...domain.duties.morning import next_morning
from ...domain.duties.quiet import NO_WISH, Wish, quiet_until
from ...records.instants import milliseconds
from ...store.tables import person, push_subscription, reminder_wish
from ...store.upsert import upserting
from ..access import Who

__all__ = ["NO_WISH", "Wish", "keep_wish", "phone_of", "quiet_until", "wish_in", "wish_of", "wishes_of"]


def waits_until(wish: Wish, kind: Kind, at: datetime) -> datetime | None:
    """Until when a message about such a duty waits for the end of quiet hours; None where it may come at `at`."""
    return None if wish.catch_breaks_quiet and kind in URGENT else quiet_until(wish, at)


def wishes_of(db: sa.Connection, household_id: str) -> Mapping[str, Wish]:
    """The wishes of a household's people, by person; whoever said nothing is not in it (`NO_WISH` is his)."""
    here = person.c.removed_at.is_(None) & (person.c.household_id == household_id)
    same = (person.c.household_id == reminder_wish.c.household_id) & (person.c.person_id == reminder_wish.c.person_id)
    query = sa.select(reminder_wish).join(person, same).where(here)
    return {row.person_id: wish_in(row) for row in db.execute(query)}


def wish_of(db: sa.Connection, who: Who) -> Wish:
    """One person's own."""
    own = sa.select(reminder_wish).filter_by(household_id=who.household_id, person_id=who.person_id)
    row = db.execute(own).first()
    return NO_WISH if row is None else wish_in(row)


def keep_wish(db: sa.Connection, who: Who, wish: Wish, now: datetime) -> None:
    """Let a person's wishes be these."""
    morning = _next_morning(db, who, wish, now)
    row = {
        "household_id": who.household_id,
        "person_id": who.person_id,
        "quiet_from": _text(wish.quiet_from),
        "quiet_until": _text(wish.quiet_until),
        "zone": wish.zone.key,
        "catch_breaks_quiet": wish.catch_breaks_quiet,
        "email": wish.email,
        "morning_at": _text(wish.morning_at),
        "next_morning_at": morning,
    }
    db.execute(upserting(db, reminder_wish).values(row))


def _next_morning(db: sa.Connection, who: Who, wish: Wish, now: datetime) -> int | None:
    """When his next summary is due: as it was, where he changed nothing of it, for it may be due this very minute."""
    own = sa.select(reminder_wish).filter_by(household_id=who.household_id, person_id=who.person_id)
    row = db.execute(own).first()
    if row is not None and (row.morning_at, row.zone) == (_text(wish.morning_at), wish.zone.key):
        return row.next_morning_at
    return milliseconds(next_morning(wish.morning_at, wish.zone, now)) if wish.morning_at else None


def phone_of(db: sa.Connection, who: Who) -> Address | None:
    """Where the phone gets its reminders from which this person asks; None where it gets none."""
    own = sa.select(push_subscription).filter_by(household_id=who.household_id, session_id=who.session_id)
    row = db.execute(own).first()
    return None if row is None else Address(row.session_id, row.endpoint, row.p256dh, row.auth)


def wish_in(row: Any) -> Wish:
    """A row as wishes."""
    return Wish(
        quiet_from=_time(row.quiet_from),
        quiet_until=_time(row.quiet_until),
        zone=ZoneInfo(row.zone),
        catch_breaks_quiet=row.catch_breaks_quiet,
        email=row.email,
        morning_at=_time(row.morning_at),
    )


def _text(wall: time | None) -> str | None:
    return None if wall is None else f"{wall:%H:%M}"


def _time(text: str | None) -> time | None:
    return None if text is None else time.fromisoformat(text)
