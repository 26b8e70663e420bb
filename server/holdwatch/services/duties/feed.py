"""A person's calendar: its address is a secret that is told once, can be made anew and ended."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import sqlalchemy as sa

from ...channels.calendar import Entry
from ...channels.words import MORNING
from ...records.instants import from_milliseconds, milliseconds
from ...store import tables
from ...store.tables import calendar_feed, person
from ...store.upsert import upserting
from ..access import Who
from ..access.tokens import Token, digest, new_token, parse_token
from ..sync.stored import Stored, read_stored
from .audience import concerns
from .kept import kept

BACK = timedelta(days=14)
"""So long a calendar shows what was due."""
# A batch is about a brood, which is about a male, who is about a tank.
STEPS_TO_THE_TANK = 4
# In the place of what is no address at all, and of the hash that nobody has: a wrong one costs the same work.
NOBODY = Token("", "", "")
NOBODYS_HASH = digest("")


@dataclass(frozen=True)
class Feed:
    """That a person has a calendar: since when this address holds, and whether it names the fish."""

    since: datetime
    names: bool


def new_feed(db: sa.Connection, who: Who, names: bool, now: datetime) -> Token:
    """Give a person a calendar, or a new address for it; the one before opens nothing any more."""
    token = new_token(who.household_id, who.person_id)
    row = {
        "household_id": who.household_id,
        "person_id": who.person_id,
        "secret_hash": digest(token.secret),
        "names": names,
        "created_at": milliseconds(now),
    }
    db.execute(upserting(db, calendar_feed).values(row))
    return token


def feed_of(db: sa.Connection, who: Who) -> Feed | None:
    """The person's own calendar; None where there is none."""
    row = _row(db, who.household_id, who.person_id)
    return None if row is None else Feed(from_milliseconds(row.created_at), row.names)


def end_feed(db: sa.Connection, who: Who) -> None:
    """End the person's calendar; to end none is harmless."""
    mine = (calendar_feed.c.household_id == who.household_id, calendar_feed.c.person_id == who.person_id)
    db.execute(sa.delete(calendar_feed).where(*mine))


def read_feed(db: sa.Connection, token_text: str, now: datetime) -> list[Entry] | None:
    """What the calendar of this secret shows; None, after the same work, where it is wrong, ended or never was."""
    token = parse_token(token_text) or NOBODY
    row = _row(db, token.household_id, token.own_id)
    is_open = token.opens(NOBODYS_HASH if row is None else row.secret_hash)
    if row is None or not is_open:
        return None
    duties = list(_duties(db, row.household_id, row.person_id, now))
    names = _names(db, row.household_id, {duty.brood_id for duty in duties}) if row.names else {}
    return [_entry(duty, names.get(duty.brood_id, {})) for duty in duties]


def _row(db: sa.Connection, household_id: str, person_id: str) -> Any:
    same = (person.c.household_id == calendar_feed.c.household_id) & (person.c.person_id == calendar_feed.c.person_id)
    mine = (calendar_feed.c.household_id == household_id, calendar_feed.c.person_id == person_id)
    query = sa.select(calendar_feed).join(person, same).where(*mine, person.c.removed_at.is_(None))
    return db.execute(query).one_or_none()


def _duties(db: sa.Connection, household_id: str, person_id: str, now: datetime) -> Iterator[Any]:
    """What concerns the person, by its time."""
    duty = tables.duty.c
    mine = (duty.household_id == household_id, duty.due_at >= milliseconds(now - BACK))
    for_him = (concerns(person_id), duty.kind != MORNING)
    yield from db.execute(sa.select(tables.duty).where(*mine, *for_him).order_by(duty.due_at, duty.key))


def _names(db: sa.Connection, household_id: str, ids: Iterable[str]) -> Mapping[str, Mapping[str, str]]:
    """By what duties are about: the names on the way from there to the tank, by kind."""
    known: dict[str, Stored] = {}
    wanted = set(ids)
    for _ in range(STEPS_TO_THE_TANK):
        found = read_stored(db, household_id, wanted - set(known))
        known |= found
        wanted = {record.value("about") for record in found.values()} - {None}
    return {one: dict(_names_from(known, one)) for one in ids}


def _names_from(known: Mapping[str, Stored], id_: str | None) -> Iterator[tuple[str, str]]:
    for _ in range(STEPS_TO_THE_TANK):
        record = known.get(id_ or "")
        if record is None:
            return
        if name := record.value("name"):
            yield record.kind, name
        id_ = record.value("about")


def _entry(row: Any, names: Mapping[str, str]) -> Entry:
    one = kept(row)
    withdrawn_at = None if row.withdrawn_at is None else from_milliseconds(row.withdrawn_at)
    male, tank = names.get("fish"), names.get("tank")
    return Entry(row.household_id, one.duty, one.zone, one.sequence, withdrawn_at, male, tank)
