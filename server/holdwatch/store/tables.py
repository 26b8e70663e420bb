"""All tables; every primary key begins with the household, so that no household joins another.

Instants are whole milliseconds since 1970-01-01 UTC (`*_at`). JSON is canonical text, the same on
both databases. Three tables stand outside any household: `server_identity`, `setup_code`, `attempt`.
"""

from __future__ import annotations

import sqlalchemy as sa

metadata = sa.MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
    }
)

# Stamps sort by code point on both databases.
Stamp = sa.String().with_variant(sa.String(collation="C"), "postgresql")


def _household() -> sa.Column:
    return sa.Column("household_id", sa.String, sa.ForeignKey("household.household_id"), primary_key=True)


def _own(name: str) -> sa.Column:
    return sa.Column(name, sa.String, primary_key=True)


def _at(name: str, nullable: bool = False) -> sa.Column:
    return sa.Column(name, sa.BigInteger, nullable=nullable)


def _text(name: str, nullable: bool = False) -> sa.Column:
    return sa.Column(name, sa.Text, nullable=nullable)


def _number(name: str, default: int | None = None) -> sa.Column:
    return sa.Column(name, sa.BigInteger, nullable=False, default=default)


household = sa.Table(
    "household",
    metadata,
    sa.Column("household_id", sa.String, primary_key=True),
    _text("name"),
    _number("revision", 0),
    _at("created_at"),
)

record = sa.Table(
    "record",
    metadata,
    _household(),
    _own("id"),
    _text("kind"),
    _text("author"),
    _text("device"),
    _text("about", nullable=True),
    _text("at", nullable=True),
    _text("fields"),
    _text("stamps"),
    _text("concurrent"),
    _number("revision"),
    sa.Index(None, "household_id", "revision"),
    sa.Index(None, "household_id", "about", "kind", "at"),
)

history = sa.Table(
    "history",
    metadata,
    _household(),
    _own("record_id"),
    _own("field"),
    sa.Column("stamp", Stamp, primary_key=True),
    _own("value"),
    sa.Column("was", Stamp, nullable=True),
    _text("author"),
    _number("revision"),
)

derived = sa.Table(
    "derived",
    metadata,
    _household(),
    _own("kind"),
    _own("about"),
    _text("body"),
    _number("revision"),
    sa.Index(None, "household_id", "revision"),
)

recompute = sa.Table("recompute", metadata, _household(), _own("brood_id"), _at("asked_at"))

# When a brood's forecast has grown old, so that nobody has to read them all to know.
ageing = sa.Table("ageing", metadata, _household(), _own("brood_id"), _at("old_at"), sa.Index(None, "old_at"))

# What each finished brood taught, see services/forecasts/lessons.py.
lesson = sa.Table("lesson", metadata, _household(), _own("brood_id"), _text("species"), _text("body"))

issued_forecast = sa.Table(
    "issued_forecast",
    metadata,
    _household(),
    _own("brood_id"),
    sa.Column("issued_at", sa.BigInteger, primary_key=True),
    _number("from_revision"),
    _text("body"),
)

duty = sa.Table(
    "duty",
    metadata,
    _household(),
    _own("key"),
    _text("kind"),
    _text("brood_id"),
    _text("night"),
    _text("zone"),
    _at("due_at"),
    _at("tell_at"),
    _at("until_at"),
    _number("version"),
    # Whether the deliveries of this version have been queued; false where people are still to be told.
    sa.Column("queued", sa.Boolean, nullable=False),
    _text("taken_by", nullable=True),
    _at("done_at", nullable=True),
    _at("withdrawn_at", nullable=True),
    sa.Index(None, "until_at", "tell_at"),
    sa.Index(None, "household_id", "brood_id"),
)

delivery = sa.Table(
    "delivery",
    metadata,
    _household(),
    _own("duty_key"),
    sa.Column("version", sa.BigInteger, primary_key=True),
    _own("person_id"),
    _own("channel"),
    _text("state"),
    _number("tries", 0),
    _at("next_at"),
    _at("lease_until", nullable=True),
    _text("lease_by", nullable=True),
    # The phones that have it already, as a JSON list of sessions: a person may have several.
    sa.Column("reached", sa.Text, nullable=False, default="[]"),
    _text("trouble", nullable=True),
    sa.Index(None, "state", "next_at"),
)

person = sa.Table(
    "person",
    metadata,
    _household(),
    _own("person_id"),
    _text("name"),
    _text("role"),
    _text("login"),
    _text("password_hash"),
    _at("created_at"),
    _at("removed_at", nullable=True),
    sa.UniqueConstraint("login"),
)

device_session = sa.Table(
    "device_session",
    metadata,
    _household(),
    _own("session_id"),
    _text("person_id"),
    _text("secret_hash"),
    _text("device"),
    _text("label"),
    _at("created_at"),
    _at("seen_at"),
    _at("revoked_at", nullable=True),
    sa.ForeignKeyConstraint(["household_id", "person_id"], ["person.household_id", "person.person_id"]),
)

invitation = sa.Table(
    "invitation",
    metadata,
    _household(),
    _own("invitation_id"),
    _text("secret_hash"),
    _text("name"),
    _text("role"),
    _text("created_by"),
    _at("created_at"),
    _at("expires_at"),
    _at("spent_at", nullable=True),
)

push_subscription = sa.Table(
    "push_subscription",
    metadata,
    _household(),
    _own("session_id"),
    _text("person_id"),
    _text("endpoint"),
    _text("p256dh"),
    _text("auth"),
    _at("created_at"),
    _text("trouble", nullable=True),
    sa.ForeignKeyConstraint(["household_id", "person_id"], ["person.household_id", "person.person_id"]),
)

# A thermometer of one tank, by the name that people or the device gave it; its readings are counted as they come in.
thermometer = sa.Table(
    "thermometer",
    metadata,
    _household(),
    sa.Column("number", sa.BigInteger, primary_key=True, autoincrement=False),
    _text("tank_id"),
    _text("name"),
    _number("readings"),
    _at("first_at"),
    _at("last_at"),
    _number("last_millidegrees"),
    sa.UniqueConstraint("household_id", "tank_id", "name"),
)

# Readings as they came in. A million of them is a year and a half of one tank, so they lie in the primary key's own
# tree and not in a second one beside it.
temperature_reading = sa.Table(
    "temperature_reading",
    metadata,
    _household(),
    sa.Column("thermometer", sa.BigInteger, primary_key=True, autoincrement=False),
    sa.Column("at", sa.BigInteger, primary_key=True, autoincrement=False),
    _number("millidegrees"),
    sqlite_with_rowid=False,
)

# The same by the hour, which is all that forecasts and pages read: what passed, and apart from it what are spikes.
temperature_hour = sa.Table(
    "temperature_hour",
    metadata,
    _household(),
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
    _household(),
    _own("tank_id"),
    _at("due_at", nullable=True),
    _at("looked_at", nullable=True),
    sa.Index(None, "due_at"),
)

reading_token = sa.Table(
    "reading_token",
    metadata,
    _household(),
    _own("token_id"),
    _text("tank_id"),
    _text("name"),
    _text("secret_hash"),
    _text("created_by"),
    _at("created_at"),
    _at("used_at", nullable=True),
    _at("revoked_at", nullable=True),
    # The minute that is being counted, and the requests in it.
    _at("minute_at"),
    _number("minute_requests", 0),
)

server_identity = sa.Table(
    "server_identity",
    metadata,
    sa.Column("one", sa.Integer, primary_key=True),
    _text("database_id"),
    _text("epoch"),
    _text("earlier_epochs"),
    _text("vapid_private"),
    _text("vapid_public"),
)

setup_code = sa.Table(
    "setup_code",
    metadata,
    sa.Column("code_hash", sa.String, primary_key=True),
    _at("expires_at"),
    _at("spent_at", nullable=True),
)

attempt = sa.Table(
    "attempt",
    metadata,
    sa.Column("who", sa.String, primary_key=True),
    _number("failures"),
    _at("last_at"),
    _at("blocked_until"),
)
