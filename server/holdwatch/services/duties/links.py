"""Links to one duty for one person: whoever has one sees the duty and acts in that person's name, and no more."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from secrets import randbits
from typing import Any, Literal
from uuid import uuid4

import sqlalchemy as sa

from ...domain.duties import LOOSE, Duty, Mark, claimed
from ...records.ids import RANDOM_BITS, record_id
from ...records.instants import instant_text, milliseconds
from ...records.kinds import SCHEMA_NUMBER
from ...records.stamps import parse_stamp, tick
from ...store.tables import duty as duties
from ...store.tables import duty_link, person, record
from ..access import Who, departures
from ..access.tokens import digest, new_token, opened_row
from ..derived import raise_revision
from ..lamps import lamps_of
from ..sync import Push, agree
from ..sync.stored import Stored, read_stored, stored
from .feed import STEPS_TO_THE_TANK
from .kept import Kept, kept
from .planning import claims_in

What = Literal["taken", "done", "later"]
State = Literal["open", "yours", "anothers", "done", "withdrawn"]

LIVES_ON = timedelta(hours=12)
"""After the duty has lost its use."""
LATER_BY = timedelta(minutes=30)
DEVICE = "linklink"
"""In the stamps of what is written by links: no phone has this name, which is given by the server."""


class NoLink(Exception):
    """A link that opens nothing: forged, expired, or of somebody who left. They are told apart by nobody."""

    def __init__(self) -> None:
        super().__init__("This link opens nothing, or nothing any more.")


@dataclass(frozen=True)
class Linked:
    """What a link opens: whose it is, the duty, how it stands, and whether the lamps of its tank are out."""

    who: Who
    kept: Kept
    state: State
    marks: tuple[Mark, ...]
    is_dark: bool


def make_link(db: sa.Connection, household_id: str, person_id: str, duty: Duty, now: datetime) -> str:
    """The path of a new link; several of one duty are fine. Those that have died are cleared away."""
    died = (duty_link.c.household_id == household_id, duty_link.c.until_at <= milliseconds(now))
    db.execute(sa.delete(duty_link).where(*died))
    token = new_token(household_id, str(uuid4()))
    row = {
        "household_id": household_id,
        "link_id": token.own_id,
        "person_id": person_id,
        "duty_key": duty.key,
        "secret_hash": digest(token.secret),
        "until_at": milliseconds(duty.until_at + LIVES_ON),
    }
    db.execute(sa.insert(duty_link).values(row))
    return f"/d/{token}"


def read_link(db: sa.Connection, token: str, now: datetime) -> Linked:
    """What the link opens; NoLink where it opens nothing."""
    row = opened_row(db, token, _link)
    if row is None or row.until_at <= milliseconds(now):
        raise NoLink
    who = _present(db, Who(row.household_id, row.person_id, "", "", DEVICE))
    found = db.execute(sa.select(duties).filter_by(household_id=row.household_id, key=row.duty_key)).one_or_none()
    if found is None:
        raise NoLink
    one = kept(found)
    marks = _marks(db, row.household_id, one.duty)
    return Linked(who, one, _state(one, marks, who), marks, _is_dark(db, row.household_id, one, now))


def act_by_link(db: sa.Connection, token: str, what: What, now: datetime) -> tuple[Linked, bool]:
    """Write the mark in the person's name; how the duty stands then, and whether that changed anything."""
    household_id = read_link(db, token, now).who.household_id
    # The household is ours until the commit: of two who press at once the second finds what the first has written.
    raise_revision(db, household_id, by=0)
    linked = read_link(db, token, now)
    if not _would_change(linked, what, now):
        return linked, False
    push = Push([_mark(linked, what, now)], 0, SCHEMA_NUMBER, False)
    (verdict,) = agree(db, linked.who, push, now, page_rows=0, present=_present).verdicts
    if verdict.verdict != "taken":
        raise RuntimeError(f"a mark by a link was not taken: {verdict.reason}")
    return read_link(db, token, now), True


def _would_change(linked: Linked, what: What, now: datetime) -> bool:
    if linked.state in ("done", "withdrawn"):
        return False
    if what == "taken":
        return linked.state == "open"
    put_off = dict(claimed(linked.kept.duty, linked.marks).put_off)
    return what == "done" or put_off.get(linked.who.person_id, now) <= now


def _mark(linked: Linked, what: What, now: datetime) -> dict[str, Any]:
    """The record as a phone would send it."""
    duty, at = linked.kept.duty, milliseconds(now)
    values = {"about": duty.brood, "at": instant_text(now), "what": what, "duty": duty.key}
    if what == "later":
        values["until"] = instant_text(now + LATER_BY)
    # Never behind what was said of this duty before, though by a phone whose clock is ahead.
    latest = max((parse_stamp(mark.stamp) for mark in linked.marks), default=None)
    return {
        "id": record_id(at, randbits(RANDOM_BITS)),
        "kind": "mark",
        "author": linked.who.person_id,
        "device": DEVICE,
        "values": values,
        "stamp": str(tick(latest, at, DEVICE)),
    }


def _state(one: Kept, marks: tuple[Mark, ...], who: Who) -> State:
    """As the plan has it, and as the marks have it that the plan may not know of yet."""
    duty = claimed(one.duty, marks)
    # Loose fry come again: of them a *done* is of this alarm only where it came after it.
    handled = duty.kind in LOOSE and any(mark.what == "done" and mark.at >= duty.due_at for mark in marks)
    if duty.done_at is not None or handled:
        return "done"
    if one.withdrawn:
        return "withdrawn"
    if duty.taken_by is None:
        return "open"
    return "yours" if duty.taken_by == who.person_id else "anothers"


def _link(db: sa.Connection, household_id: str, link_id: str) -> Any:
    return db.execute(sa.select(duty_link).filter_by(household_id=household_id, link_id=link_id)).one_or_none()


def _present(db: sa.Connection, who: Who) -> Who:
    """The person with the role of now; NoLink where he has left."""
    query = sa.select(person.c.role).filter_by(household_id=who.household_id, person_id=who.person_id)
    role = db.scalar(query.where(person.c.removed_at.is_(None)))
    if role is None:
        raise NoLink
    return Who(who.household_id, who.person_id, role, "", DEVICE)


def _marks(db: sa.Connection, household_id: str, duty: Duty) -> tuple[Mark, ...]:
    query = sa.select(record).filter_by(household_id=household_id, kind="mark", about=duty.brood)
    records = [stored(row) for row in db.execute(query)]
    standing = [one for one in records if not one.value("gone") and one.value("duty") == duty.key]
    return tuple(claims_in(standing, departures(db, household_id)))


def _is_dark(db: sa.Connection, household_id: str, one: Kept, now: datetime) -> bool:
    """Whether the lamps of the duty's tank are out, by the zone that its plan was made with."""
    return not lamps_of(_tank_of(db, household_id, one.duty.brood), one.zone).are_lit(now)


def _tank_of(db: sa.Connection, household_id: str, about: str) -> Stored | None:
    """The tank of a batch or a brood, by its male, or itself; None where its records have not come up yet."""
    for _ in range(STEPS_TO_THE_TANK):
        found = read_stored(db, household_id, [about]).get(about)
        if found is None or found.kind == "tank":
            return found
        about = found.value("about") or ""
    return None
