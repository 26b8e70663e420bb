"""Which database this is."""

from __future__ import annotations

import sqlalchemy as sa

from .columns import metadata, text

server_identity = sa.Table(
    "server_identity",
    metadata,
    sa.Column("one", sa.Integer, primary_key=True),
    text("database_id"),
    text("epoch"),
    text("earlier_epochs"),
    text("vapid_private"),
    text("vapid_public"),
)
