"""What people wrote down, what it replaced, and what the server derived from it."""

from __future__ import annotations

import sqlalchemy as sa

from .columns import Stamp, at, household_id, metadata, number, own, text

household = sa.Table(
    "household",
    metadata,
    sa.Column("household_id", sa.String, primary_key=True),
    text("name"),
    number("revision", 0),
    at("created_at"),
)

record = sa.Table(
    "record",
    metadata,
    household_id(),
    own("id"),
    text("kind"),
    text("author"),
    text("device"),
    text("about", nullable=True),
    text("at", nullable=True),
    text("fields"),
    text("stamps"),
    text("concurrent"),
    number("revision"),
    # Who brought it back after a restore, where that was not its author.
    text("brought_by", nullable=True),
    sa.Index(None, "household_id", "revision"),
    sa.Index(None, "household_id", "about", "kind", "at"),
)

history = sa.Table(
    "history",
    metadata,
    household_id(),
    own("record_id"),
    own("field"),
    sa.Column("stamp", Stamp, primary_key=True),
    # Of the value, which may be longer than a key can be on PostgreSQL.
    own("digest"),
    text("value"),
    sa.Column("was", Stamp, nullable=True),
    text("author"),
    number("revision"),
)

derived = sa.Table(
    "derived",
    metadata,
    household_id(),
    own("kind"),
    own("about"),
    text("body"),
    number("revision"),
    sa.Index(None, "household_id", "revision"),
)
