"""Forecasts: which are asked for, which grow old, which were issued, and what finished broods taught."""

from __future__ import annotations

import sqlalchemy as sa

from .columns import at, household_id, metadata, number, own, text

recompute = sa.Table("recompute", metadata, household_id(), own("brood_id"), at("asked_at"))

# When a brood's forecast has grown old, so that nobody has to read them all to know.
ageing = sa.Table("ageing", metadata, household_id(), own("brood_id"), at("old_at"), sa.Index(None, "old_at"))

# What each finished brood taught, see services/forecasts/lessons.py.
lesson = sa.Table("lesson", metadata, household_id(), own("brood_id"), text("species"), text("body"))

issued_forecast = sa.Table(
    "issued_forecast",
    metadata,
    household_id(),
    own("brood_id"),
    sa.Column("issued_at", sa.BigInteger, primary_key=True),
    number("from_revision"),
    text("body"),
)
