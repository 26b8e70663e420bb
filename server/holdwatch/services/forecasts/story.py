"""Gathers from the records what is known of one brood."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import sqlalchemy as sa

from ...records.instants import instant_text, parse_instant
from ...store import tables
from ..sync.stored import Stored, stored
from ..temperature import used_points

MISSING = {"brood": "This brood", "fish": "The male of this brood", "tank": "The tank of this male"}
NOT_COME_IN = (
    "is not known here yet. It may wait on the device on which it was written: open Holdwatch there with a connection."
)
READINGS_DAYS = 60
FEEDINGS_DAYS = 90
UNSURE_DAYS = 2


@dataclass(frozen=True)
class Story:
    """One brood with all that was written about it, nothing of it interpreted yet."""

    brood: Stored
    male: Stored
    tank: Stored
    looks: tuple[Stored, ...]
    unsure: tuple[Stored, ...]
    """Looks at one of the males of the tank, nobody is sure which."""
    feedings: tuple[Stored, ...]
    marks: tuple[Stored, ...]
    readings: tuple[Stored, ...]
    hourly_means: tuple[tuple[datetime, float], ...]
    """What thermometers measured, as far as it may be used."""
    earlier: tuple[Stored, ...]
    """The same male's other broods."""
    earlier_catches: tuple[Stored, ...]
    revision: int
    """The household's revision that this was read at."""

    def caught(self) -> Stored | None:
        """The mark of the catch that ended the brood."""
        return next((mark for mark in self.marks if mark.value("what") == "caught"), None)

    def ended_at(self) -> datetime | None:
        """When the brood ended, as far as it is known."""
        caught = self.caught()
        text = caught.value("at") if caught else self.brood.value("ended_at")
        return parse_instant(text) if text else None

    def ended(self) -> str | None:
        """How the brood ended; None while it is under way."""
        if self.brood.value("gone"):
            return "mistake"
        return "caught" if self.caught() else self.brood.value("ended")

    def taken_away(self) -> str | None:
        """Why there is nothing to forecast or to do any more, in words for people; None while all are there."""
        if self.male.value("gone"):
            return "He was taken away. Put him back, or say how the brood ended."
        if self.tank.value("gone"):
            return "His tank was taken away. Put it back, or move him to another."
        return None


class NotYetKnown(Exception):
    """Something the brood hangs on has not come in yet; the message says what."""


def read_story(db: sa.Connection, household_id: str, brood_id: str, now: datetime) -> Story:
    """Read the records; NotYetKnown while the brood, its male or the male's tank is missing.

    One of these that was taken away is read all the same: the brood has to say so.
    """
    brood = _one(db, household_id, brood_id, "brood")
    male = _one(db, household_id, brood.value("about"), "fish")
    tank = _one(db, household_id, male.value("about"), "tank")
    others = tuple(b for b in _about(db, household_id, [male.id], "brood") if b.id != brood.id)
    marks = _about(db, household_id, [brood.id, *(other.id for other in others)], "mark")
    return Story(
        brood=brood,
        male=male,
        tank=tank,
        looks=_about(db, household_id, [brood.id], "look"),
        unsure=_about(db, household_id, [tank.id], "look", now - timedelta(days=UNSURE_DAYS)),
        feedings=_about(db, household_id, [brood.id, male.id], "feeding", now - timedelta(days=FEEDINGS_DAYS)),
        marks=tuple(mark for mark in marks if mark.value("about") == brood.id),
        readings=_about(db, household_id, [tank.id], "reading", now - timedelta(days=READINGS_DAYS)),
        hourly_means=used_points(db, household_id, tank.id, now),
        earlier=others,
        earlier_catches=tuple(m for m in marks if m.value("about") != brood.id and m.value("what") == "caught"),
        revision=_revision(db, household_id),
    )


def instants(records: Iterable[Stored], name: str = "at") -> list[datetime]:
    """The instants that these records have under `name`, as far as they have one."""
    return [parse_instant(record.value(name)) for record in records if record.value(name)]


def _one(db: sa.Connection, household_id: str, record_id: str | None, kind: str) -> Stored:
    table = tables.record
    mine = (table.c.household_id == household_id, table.c.id == (record_id or ""), table.c.kind == kind)
    row = db.execute(sa.select(table).where(*mine)).one_or_none()
    if row is None:
        raise NotYetKnown(f"{MISSING[kind]} {NOT_COME_IN}")
    return stored(row)


def _about(
    db: sa.Connection, household_id: str, ids: Iterable[str], kind: str, since: datetime | None = None
) -> tuple[Stored, ...]:
    table = tables.record
    where: list[Any] = [table.c.household_id == household_id, table.c.about.in_(list(ids)), table.c.kind == kind]
    if since is not None:
        where.append(table.c.at >= instant_text(since))
    rows = db.execute(sa.select(table).where(*where).order_by(table.c.at, table.c.id))
    return tuple(record for record in map(stored, rows) if not record.value("gone"))


def _revision(db: sa.Connection, household_id: str) -> int:
    table = tables.household
    return db.execute(sa.select(table.c.revision).where(table.c.household_id == household_id)).scalar_one()
