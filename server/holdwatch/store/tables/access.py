"""People, their phones and how they come in."""

from __future__ import annotations

import sqlalchemy as sa

from .columns import at, household_id, metadata, number, own, text

person = sa.Table(
    "person",
    metadata,
    household_id(),
    own("person_id"),
    text("name"),
    text("role"),
    text("login"),
    text("password_hash"),
    at("created_at"),
    at("removed_at", nullable=True),
    sa.UniqueConstraint("login"),
)

device_session = sa.Table(
    "device_session",
    metadata,
    household_id(),
    own("session_id"),
    text("person_id"),
    text("secret_hash"),
    text("device"),
    text("label"),
    at("created_at"),
    at("seen_at"),
    at("revoked_at", nullable=True),
    sa.ForeignKeyConstraint(["household_id", "person_id"], ["person.household_id", "person.person_id"]),
)

invitation = sa.Table(
    "invitation",
    metadata,
    household_id(),
    own("invitation_id"),
    text("secret_hash"),
    text("name"),
    text("role"),
    text("created_by"),
    at("created_at"),
    at("expires_at"),
    at("spent_at", nullable=True),
    # Whom it invites again; empty for somebody new.
    text("person_id", nullable=True),
)

recovery = sa.Table(
    "recovery",
    metadata,
    household_id(),
    own("recovery_id"),
    text("person_id"),
    text("secret_hash"),
    at("expires_at"),
    at("spent_at", nullable=True),
    sa.ForeignKeyConstraint(["household_id", "person_id"], ["person.household_id", "person.person_id"]),
)

setup_code = sa.Table(
    "setup_code",
    metadata,
    sa.Column("code_hash", sa.String, primary_key=True),
    at("expires_at"),
    at("spent_at", nullable=True),
)

attempt = sa.Table(
    "attempt",
    metadata,
    sa.Column("who", sa.String, primary_key=True),
    number("failures"),
    at("last_at"),
    at("blocked_until"),
)
