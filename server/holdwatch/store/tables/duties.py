"""Duties, the queue of their messages, the phones that get them, and how each person wants to be reminded."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from .columns import at, household_id, metadata, number, own, text


def _of_a_person() -> Any:
    return sa.ForeignKeyConstraint(["household_id", "person_id"], ["person.household_id", "person.person_id"])


duty = sa.Table(
    "duty",
    metadata,
    household_id(),
    own("key"),
    text("kind"),
    text("brood_id"),
    text("night"),
    text("zone"),
    at("due_at"),
    at("tell_at"),
    at("until_at"),
    # When the queue has to look at it next.
    at("ask_at"),
    # When it was due before it moved.
    at("was_due_at", nullable=True),
    number("version"),
    # How often it has moved, was withdrawn or came back.
    number("sequence", 0),
    # Whether the deliveries of this version have been queued; false where people are still to be told.
    sa.Column("queued", sa.Boolean, nullable=False),
    text("taken_by", nullable=True),
    at("done_at", nullable=True),
    sa.Column("skipped", sa.Boolean, nullable=False, default=False),
    # Who said *later*, and until when: a JSON object of instants by person.
    sa.Column("put_off", sa.Text, nullable=False, default="{}"),
    # How much: a JSON object of quantity, unit, measures and measure.
    text("amount", nullable=True),
    at("withdrawn_at", nullable=True),
    # moved or withdrawn, while people who were told of it are still to hear that.
    sa.Column("news", sa.Text, nullable=True, index=True),
    sa.Index(None, "queued", "ask_at"),
    sa.Index(None, "household_id", "brood_id"),
)

delivery = sa.Table(
    "delivery",
    metadata,
    household_id(),
    own("duty_key"),
    sa.Column("version", sa.BigInteger, primary_key=True),
    own("person_id"),
    own("channel"),
    # What the message says of the duty: due, moved, withdrawn, or again with the instant that its person named.
    own("matter"),
    text("state"),
    number("tries", 0),
    at("next_at"),
    at("lease_until", nullable=True),
    text("lease_by", nullable=True),
    # The phones that have it already, as a JSON list of sessions: a person may have several.
    sa.Column("reached", sa.Text, nullable=False, default="[]"),
    text("trouble", nullable=True),
    sa.Index(None, "state", "next_at"),
)

push_subscription = sa.Table(
    "push_subscription",
    metadata,
    household_id(),
    own("session_id"),
    text("person_id"),
    text("endpoint"),
    text("p256dh"),
    text("auth"),
    at("created_at"),
    text("trouble", nullable=True),
    _of_a_person(),
)

reminder_wish = sa.Table(
    "reminder_wish",
    metadata,
    household_id(),
    own("person_id"),
    # Times of day by the clock of `zone`; both or neither.
    text("quiet_from", nullable=True),
    text("quiet_until", nullable=True),
    text("zone"),
    sa.Column("catch_breaks_quiet", sa.Boolean, nullable=False),
    text("email", nullable=True),
    # The time of day of his summary, and the instant of the next one.
    text("morning_at", nullable=True),
    sa.Column("next_morning_at", sa.BigInteger, nullable=True, index=True),
    _of_a_person(),
)

calendar_feed = sa.Table(
    "calendar_feed",
    metadata,
    household_id(),
    own("person_id"),
    text("secret_hash"),
    # Whether the entries name the fish and the tank.
    sa.Column("names", sa.Boolean, nullable=False),
    at("created_at"),
    _of_a_person(),
)

duty_link = sa.Table(
    "duty_link",
    metadata,
    household_id(),
    own("link_id"),
    text("person_id"),
    text("duty_key"),
    text("secret_hash"),
    at("until_at"),
    _of_a_person(),
)

# What the records of the rota say; `weekdays` as BYDAY of RFC 5545 has them.
rota = sa.Table(
    "rota",
    metadata,
    household_id(),
    own("record_id"),
    text("person_id"),
    text("weekdays"),
    sa.Index(None, "household_id", "person_id"),
)

# What the records of absences say, where the queue finds it at once: a household may have a million records.
away = sa.Table(
    "away",
    metadata,
    household_id(),
    own("record_id"),
    text("person_id"),
    at("since_at"),
    at("until_at"),
    sa.Index(None, "household_id", "person_id", "until_at"),
)
