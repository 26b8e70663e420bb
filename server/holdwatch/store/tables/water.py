"""Thermometers, what they read, and who may send it."""

from __future__ import annotations

import sqlalchemy as sa

from .columns import at, household_id, metadata, number, own, text

# A thermometer of one tank, by the name that people or the device gave it; its readings are counted as they come in.
thermometer = sa.Table(
    "thermometer",
    metadata,
    household_id(),
    sa.Column("number", sa.BigInteger, primary_key=True, autoincrement=False),
    text("tank_id"),
    text("name"),
    number("readings"),
    at("first_at"),
    at("last_at"),
    number("last_millidegrees"),
    sa.UniqueConstraint("household_id", "tank_id", "name"),
)

# Readings as they came in. A million of them is a year and a half of one tank, so they lie in the primary key's own
# tree and not in a second one beside it.
temperature_reading = sa.Table(
    "temperature_reading",
    metadata,
    household_id(),
    sa.Column("thermometer", sa.BigInteger, primary_key=True, autoincrement=False),
    sa.Column("at", sa.BigInteger, primary_key=True, autoincrement=False),
    number("millidegrees"),
    sqlite_with_rowid=False,
)

# The same by the hour, which is all that forecasts and pages read: what passed, and apart from it what are spikes.
temperature_hour = sa.Table(
    "temperature_hour",
    metadata,
    household_id(),
    sa.Column("thermometer", sa.BigInteger, primary_key=True, autoincrement=False),
    sa.Column("hour", sa.BigInteger, primary_key=True, autoincrement=False),
    *(
        sa.Column(f"{part}_{what}", sa.BigInteger, nullable=what != "n")
        for part in ("passed", "spikes")
        for what in ("n", "at", "mean", "low", "high")
    ),
    sqlite_with_rowid=False,
)

# Which tanks' water is to be looked at anew, and when.
water_watch = sa.Table(
    "water_watch",
    metadata,
    household_id(),
    own("tank_id"),
    at("due_at", nullable=True),
    at("looked_at", nullable=True),
    sa.Index(None, "due_at"),
)

reading_token = sa.Table(
    "reading_token",
    metadata,
    household_id(),
    own("token_id"),
    text("tank_id"),
    text("name"),
    text("secret_hash"),
    text("created_by"),
    at("created_at"),
    at("used_at", nullable=True),
    at("revoked_at", nullable=True),
    # The minute that is being counted, and the requests in it.
    at("minute_at"),
    number("minute_requests", 0),
)
