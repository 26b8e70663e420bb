"""Whom a duty is told to: whom it concerns, who of them is at home, and whom a channel can reach."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ...domain.duties import LOOSE
from ...store.tables import duty, person, reminder_wish
from ..away import is_away
from .addresses import MAIL

LAID_DOWN = (
    "household_id", "duty_key", "version", "person_id", "channel", "matter", "state", "tries", "next_at", "reached"
)  # fmt: skip
"""The columns of a delivery that `to_people` gives, in order."""


def to_people(channel: str, matter: str, at: int) -> sa.Select:
    """Rows of deliveries of a duty, one for each of the household's people whom the channel can reach."""
    people = (
        sa.select(
            duty.c.household_id, duty.c.key, duty.c.version, person.c.person_id, sa.literal(channel),
            sa.literal(matter), sa.literal("waiting"), sa.literal(0), sa.literal(at, sa.BigInteger), sa.literal("[]"),
        )
        .join(person, person.c.household_id == duty.c.household_id)
        .where(person.c.removed_at.is_(None))
    )  # fmt: skip
    return people.where(_has_mail()) if channel == MAIL else people


def concerns(person_id: Any) -> sa.ColumnElement[bool]:
    """Loose young concern everybody, a taken duty its taker alone, as long as he is one of the household."""
    taker = person.alias("taker")
    here = sa.exists().where(
        taker.c.household_id == duty.c.household_id,
        taker.c.person_id == duty.c.taken_by,
        taker.c.removed_at.is_(None),
    )
    is_everybodys = sa.or_(duty.c.kind.in_(sorted(LOOSE)), duty.c.taken_by.is_(None), sa.not_(here))
    return sa.or_(is_everybodys, duty.c.taken_by == person_id)


def may_be_told(now: datetime) -> sa.ColumnElement[bool]:
    """Whether the person is at home, or has taken the duty wherever he is; where all are away, all hear of it."""
    other = person.alias("other")
    others_here = (other.c.household_id == duty.c.household_id, other.c.removed_at.is_(None))
    anybody = sa.exists().where(*others_here, sa.not_(is_away(other, now)))
    return sa.or_(duty.c.taken_by == person.c.person_id, sa.not_(is_away(person, now)), sa.not_(anybody))


def _has_mail() -> sa.ColumnElement[bool]:
    wish = reminder_wish.c
    his = (wish.household_id == person.c.household_id, wish.person_id == person.c.person_id)
    return sa.exists().where(*his, wish.email.is_not(None))
