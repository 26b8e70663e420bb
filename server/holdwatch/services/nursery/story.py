"""Gathers from the records what is known of one batch of young, and makes a plan's view of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import sqlalchemy as sa

from ...domain.alive import Count, alive_by
from ...domain.duties import Batch, Change, Lamps, Mark, Measure
from ...domain.duties.duty import brood_key
from ...domain.duties.plan import CLOCKS_APART
from ...domain.first_meal import cost_quantile, first_meal_at
from ...domain.ration import BRINE_SHRIMP
from ...domain.species import Profile, Rearing
from ...domain.water import USUAL, WaterTest
from ...records.instants import instant_text, parse_instant
from ...store import tables
from ..access import departures
from ..derived import derived_body
from ..duties import claims_in, quantiles, set_going, tin_of
from ..events import once
from ..lamps import lamps_of
from ..sync.stored import Stored, read_stored, records_about
from ..watched_nurseries import BEARING_ON_ONE

LATELY = timedelta(days=30)
TESTED = ("ammonia_mg_l", "ph", "temperature_c", "salinity_psu")
SAYING = {
    "feeding": ("belly", "took"),
    "count": ("alive", "dead"),
    "water_test": ("ammonia_mg_l",),
    "water_change": ("litres",),
}
USUAL_SPECIES = "pterapogon_kauderni"
"""Of a batch whose brood nobody named: the fish that this house is for."""


@dataclass(frozen=True)
class Origin:
    """The brood that a batch came of, its male and his tank, as far as they are known here."""

    brood: Stored | None
    male: Stored | None
    tank: Stored | None

    def lamps(self) -> Lamps:
        """Of the nursery nobody says when its lamps go out: as in the tank that the young came from."""
        return lamps_of(self.tank, self.zone())

    def zone(self) -> str:
        """The zone of that tank."""
        return _said(self.tank, "zone") or "UTC"

    def usual_c(self) -> float:
        """How warm the water usually is."""
        known = _said(self.tank, "set_point_c")
        return USUAL["temperature_c"] if known is None else float(known)

    def rearing(self, profiles: Mapping[str, Profile]) -> Rearing:
        """What such young want."""
        species = _said(self.male, "species")
        return profiles[species if species in profiles else USUAL_SPECIES].rearing


def origin_of(db: sa.Connection, household_id: str, batch: Stored) -> Origin:
    """Where a batch came from; the house's first tank where that is not known."""
    brood = _named(db, household_id, batch.value("about"), "brood")
    male = _named(db, household_id, _said(brood, "about"), "fish")
    tank = _named(db, household_id, _said(male, "about"), "tank")
    return Origin(brood, male, tank or _first_tank(db, household_id))


def read_batch(
    db: sa.Connection, household_id: str, record: Stored, origin: Origin, rearing: Rearing, now: datetime
) -> Batch | None:
    """The batch as a plan needs it; None where nobody said since when it is there."""
    if not record.value("at"):
        return None
    began, lamps = parse_instant(record.value("at")), origin.lamps()
    hatched_at, first_meal = _hatching(db, household_id, origin, rearing, began, lamps)
    # Of what a clock that goes wrong has put into the future nothing is known yet.
    span = now - LATELY, now + CLOCKS_APART
    counts = _counts(db, household_id, record, began, span[1])
    return Batch(
        id=record.id,
        began=began,
        lamps=lamps,
        rearing=rearing,
        first_meal_at=first_meal,
        hatched_at=hatched_at,
        alive=alive_by(counts, span[1]),
        usual_c=origin.usual_c(),
        litres=record.value("litres") or None,
        jug=Measure(jug, record.value("jug_litres")) if (jug := record.value("jug")) else None,
        portion=record.value("portion") or None,
        meals_a_day=int(record.value("meals_a_day") or 0) or None,
        tin=tin_of(db, household_id),
        fed=_times(_saying(db, household_id, record.id, "feeding", *span)),
        set_going=_set_going(db, household_id, record.id, origin.brood, now),
        tests=tuple(map(_test, _saying(db, household_id, record.id, "water_test", *span))),
        changes=tuple(_changes(once(_saying(db, household_id, record.id, "water_change", *span)))),
        counted=tuple(count.at for count in counts[1:] if count.alive is not None),
        marks=_claims(db, household_id, record.id),
        is_over=bool(record.value("ended") or record.value("gone")),
    )


def known_from(db: sa.Connection, household_id: str, batch_id: str, now: datetime) -> datetime | None:
    """When the first record of the batch that lies in the future will count; None where there is none."""
    record = tables.record.c
    mine = (record.household_id == household_id, record.about == batch_id, record.kind.in_(sorted(BEARING_ON_ONE)))
    first = db.scalar(sa.select(sa.func.min(record.at)).where(*mine, record.at > instant_text(now + CLOCKS_APART)))
    return parse_instant(first) - CLOCKS_APART if first else None


def _set_going(
    db: sa.Connection, household_id: str, batch_id: str, brood: Stored | None, now: datetime
) -> tuple[datetime, ...]:
    """What was written down as set going, and when somebody said of the brood's first food that it is."""
    if brood is None:
        return set_going(db, household_id, [batch_id], BRINE_SHRIMP, now)
    key = brood_key("first_food", brood.id)
    marks = _claims(db, household_id, brood.id)
    done = [mark.at for mark in marks if mark.what == "done" and mark.duty.startswith(key)]
    return (*set_going(db, household_id, [batch_id, brood.id], BRINE_SHRIMP, now), *done)


def _claims(db: sa.Connection, household_id: str, about: str) -> tuple[Mark, ...]:
    return tuple(claims_in(records_about(db, household_id, about, "mark"), departures(db, household_id)))


def _hatching(
    db: sa.Connection, household_id: str, origin: Origin, rearing: Rearing, began: datetime, lamps: Lamps
) -> tuple[datetime, datetime]:
    """When they likely hatched, and the first meal: no later than may be, as being late costs more.

    Who is in a nursery has hatched, whatever the forecast held of it.
    """
    earliest = lamps.next_light(began)
    told: Any = derived_body(db, household_id, "forecast", origin.brood.id) if origin.brood else None
    known = quantiles(told["hatched"]) if told and told.get("hatched") else ()
    hatched = {chance: min(at, began) for chance, at in known}
    if not hatched:
        return began, earliest
    chance = cost_quantile(rearing.late_costs)
    meal = first_meal_at(hatched, rearing.yolk_days, rearing.yolk_days_spread, earliest, chance)
    return hatched.get(0.5, began), meal


def _counts(
    db: sa.Connection, household_id: str, record: Stored, began: datetime, until: datetime
) -> list[Count]:
    """The count that the batch began with, and those since."""
    start = Count(began, _whole(record.value("alive")))
    later = (
        Count(parse_instant(one.value("at")), _whole(one.value("alive")), _whole(one.value("dead")))
        for one in once(_saying(db, household_id, record.id, "count", began - LATELY, until))
    )
    return [start, *later]


def _saying(
    db: sa.Connection, household_id: str, about: str, kind: str, since: datetime, until: datetime
) -> list[Stored]:
    """The records that say anything: one that a helper took out is emptied instead."""
    found = records_about(db, household_id, about, kind, since, until)
    return [one for one in found if any(one.value(name) is not None for name in SAYING[kind])]


def _test(record: Stored) -> WaterTest:
    return WaterTest(parse_instant(record.value("at")), *map(record.value, TESTED))


def _changes(records: Iterable[Stored]) -> Iterator[Change]:
    """None of the water is no change of it."""
    return (Change(parse_instant(one.value("at")), one.value("litres")) for one in records if one.value("litres") > 0)


def _whole(number: float | None) -> int | None:
    return None if number is None else int(number)


def _times(records: Iterable[Stored]) -> tuple[datetime, ...]:
    return tuple(parse_instant(record.value("at")) for record in records)


def _said(record: Stored | None, name: str) -> Any:
    return record.value(name) if record else None


def _named(db: sa.Connection, household_id: str, record_id: str | None, kind: str) -> Stored | None:
    found = read_stored(db, household_id, [record_id]).get(record_id) if record_id else None
    return found if found and found.kind == kind else None


def _first_tank(db: sa.Connection, household_id: str) -> Stored | None:
    return next(iter(records_about(db, household_id, None, "tank")), None)
