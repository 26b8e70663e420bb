"""Whose writing it was that somebody brings back after a restore: told by the phones that the stamps name."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable

import sqlalchemy as sa

from ...records.instants import milliseconds
from ...records.merge import DEVICE_LENGTH, Mark
from ...records.stamps import COUNTER_LIMIT, Stamp
from ...store.tables import device_session
from ..access import Who
from ..epochs import set_back_at
from .change import Change
from .judgement import AHEAD_LIMIT

Attribute = Callable[[Change], Change]
LATER_THAN_ALL = "~"


def attributing(db: sa.Connection, who: Who) -> Attribute:
    """Gives each field of a change the author that is known of it; who brings it, where nobody knows.

    What the server had taken before it was set back was judged then, and whoever did not know of whom was marked. What
    it replaced nobody remembers: it stands for all that is earlier. What bears a later stamp than that moment was not
    taken before it: it is a writing like any other, whoever says that it was held.
    """
    latest_held = _latest_held(db, who.household_id)
    users = defaultdict(set)
    session = device_session.c
    for device, person in db.execute(
        sa.select(session.device, session.person_id).where(session.household_id == who.household_id)
    ):
        users[device].add(person)

    def author(change: Change, device: str) -> str:
        if device == change.device:
            return change.author
        return next(iter(users[device])) if len(users[device]) == 1 else who.person_id

    def attribute(change: Change) -> Change:
        change = change._replace(held=change.held and change.latest <= latest_held)
        marks: dict[str, Mark] = {
            name: (stamp, stamp if change.held else was, author(change, stamp[-DEVICE_LENGTH:]), revision)
            for name, (stamp, was, _, revision) in change.marks.items()
        }
        # A revision that its writer saw may be one of those that were lost: it says nothing of those that stand here.
        return change._replace(marks=marks, seen=None)

    return attribute


def _latest_held(db: sa.Connection, household_id: str) -> str:
    """A stamp as late as any that was taken before the server was set back; later than all where nothing says when."""
    at = set_back_at(db, household_id)
    return LATER_THAN_ALL if at is None else str(Stamp(milliseconds(at + AHEAD_LIMIT), COUNTER_LIMIT, "zzzzzzzz"))
