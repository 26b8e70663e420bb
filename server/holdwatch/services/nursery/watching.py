"""Looks at batches of young, when something is written of them and each day anew: plans their duties, tells phones."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

import sqlalchemy as sa

from ...domain.duties import Batch, planned_for_nursery
from ...domain.species import Profile
from ...records.instants import instant_text
from ...store import tables
from ..derived import put_derived, raise_revision
from ..due import look_at_due
from ..duties import keep_plan, read_kept
from ..sync.stored import read_stored
from ..watched_nurseries import look_at_batch
from .story import known_from, origin_of, read_batch

TRIED_AGAIN_AFTER = timedelta(hours=6)
AT_LEAST = timedelta(seconds=30)

def watch_nurseries(engine: sa.Engine, profiles: Mapping[str, Profile], now: datetime) -> int:
    """Look at every batch that asks for it; how many there were."""

    def look(db: sa.Connection, row: Any) -> None:
        if _is_asked_for(db, row):
            look_at_batch(db, row.household_id, row.batch_id, _look(db, profiles, row, now))

    def set_aside(db: sa.Connection, row: Any) -> None:
        if _is_asked_for(db, row):
            look_at_batch(db, row.household_id, row.batch_id, now + TRIED_AGAIN_AFTER)

    return look_at_due(engine, tables.nursery_watch, now, look, set_aside)


def _is_asked_for(db: sa.Connection, row: Any) -> bool:
    """Whether it still is: another worker may have answered since. Locks the household."""
    raise_revision(db, row.household_id, by=0)
    table = tables.nursery_watch
    same = sa.select(table.c.due_at).filter_by(household_id=row.household_id, batch_id=row.batch_id)
    return db.scalar(same) == row.due_at


def _look(db: sa.Connection, profiles: Mapping[str, Profile], row: Any, now: datetime) -> datetime | None:
    """Plan anew; when to look again, None for not again."""
    household_id, batch_id = row.household_id, row.batch_id
    record = read_stored(db, household_id, [batch_id]).get(batch_id)
    if record is None or record.kind != "batch":
        return None
    origin = origin_of(db, household_id, record)
    batch = read_batch(db, household_id, record, origin, origin.rearing(profiles), now)
    before = read_kept(db, household_id, batch_id)
    duties = planned_for_nursery(batch, now) if batch else ()
    if duties or before:
        keep_plan(db, household_id, batch_id, before, duties, origin.zone(), now)
    if batch is None:
        return None
    put_derived(db, household_id, "nursery", batch_id, _shown(batch))
    return None if batch.is_over else _changes_at(batch, known_from(db, household_id, batch_id, now), now)


def _changes_at(batch: Batch, known: datetime | None, now: datetime) -> datetime:
    """When the next day begins, at the next lamps-out or lamps-on, or something of it will count."""
    night = batch.lamps.night_of(now)
    at = batch.lamps.out(night) if batch.lamps.are_lit(now) else batch.lamps.morning(night)
    return at if known is None else min(at, max(known, now + AT_LEAST))


def _shown(batch: Batch) -> dict[str, Any]:
    last = max((test for test in batch.tests if test.ammonia_mg_l is not None), key=lambda test: test.at, default=None)
    free = last.free_mg_l(batch.usual_c) if last else None
    return {
        "alive": batch.alive,
        "hatched_at": instant_text(batch.hatched_at),
        "first_meal_at": instant_text(batch.first_meal_at),
        "meals_a_day": batch.meals(),
        "free_ammonia_mg_l": None if free is None else round(free, 4),
        "tested_at": instant_text(last.at) if last else None,
        "assumed": last.assumed() if last else [],
    }
