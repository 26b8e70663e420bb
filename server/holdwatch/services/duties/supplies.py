"""What the house has to feed young with: its tins of cysts, and what was set going of them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

import sqlalchemy as sa

from ...domain.ration import BRINE_SHRIMP, UNKNOWN_TIN, Tin
from ...records.instants import parse_instant
from ..sync.stored import Stored, records_about

SET_GOING_LATELY = timedelta(days=30)


def tin_of(db: sa.Connection, household_id: str) -> Tin:
    """The tin that is used by now: the one written down last, of those that are not finished."""
    open_tins = [food for food in records_about(db, household_id, None, "food") if _is_open(food)]
    if not open_tins:
        return UNKNOWN_TIN
    tin = max(open_tins, key=lambda food: food.id)
    return Tin(
        nauplii_per_gram=tin.value("nauplii_per_gram"),
        hours_to_hatch=tin.value("hours_to_hatch"),
        hours_to_enrich=tin.value("hours_to_enrich"),
        measure=tin.value("measure"),
        measure_g=tin.value("measure_grams"),
    )


def set_going(
    db: sa.Connection, household_id: str, about: Iterable[str], sort: str, now: datetime
) -> tuple[datetime, ...]:
    """When food of that sort was set going for these broods or batches, or for nobody in particular."""
    since = now - SET_GOING_LATELY
    cultures = [one for what in (*about, None) for one in records_about(db, household_id, what, "culture", since, now)]
    # Whoever did not say what it is set going what was asked for.
    mine = (one for one in cultures if _says_anything(one) and one.value("sort") in (sort, None))
    return tuple(parse_instant(one.value("at")) for one in mine)


def _says_anything(culture: Stored) -> bool:
    """One that a helper took out is emptied instead."""
    return any(culture.value(name) is not None for name in ("food_id", "sort", "grams", "litres"))


def _is_open(food: Stored) -> bool:
    return food.value("sort") in (BRINE_SHRIMP, None) and not food.value("finished")
