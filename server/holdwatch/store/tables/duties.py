"""Duties, the queue of their messages, and the phones that get them."""

from __future__ import annotations

import sqlalchemy as sa

from .columns import at, household_id, metadata, number, own, text

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
    number("version"),
    # Whether the deliveries of this version have been queued; false where people are still to be told.
    sa.Column("queued", sa.Boolean, nullable=False),
    text("taken_by", nullable=True),
    at("done_at", nullable=True),
    at("withdrawn_at", nullable=True),
    sa.Index(None, "until_at", "tell_at"),
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
    sa.ForeignKeyConstraint(["household_id", "person_id"], ["person.household_id", "person.person_id"]),
)
