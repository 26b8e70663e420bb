"""Batches of young in their nursery: when each is to be looked at."""

from __future__ import annotations

import sqlalchemy as sa

from .columns import at, household_id, metadata, own

# A batch that is over has no time, and is looked at when something is written of it.
nursery_watch = sa.Table(
    "nursery_watch", metadata, household_id(), own("batch_id"), at("due_at", nullable=True), sa.Index(None, "due_at")
)
