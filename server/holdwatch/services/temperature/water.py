"""A tank's water as it is known now: its thermometers' hours, judged, with what keepers have said of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import sqlalchemy as sa

from ...domain.temperature import Hour, Point, Trust, Water, hour_number, water_of
from ...records.instants import parse_instant
from ..sync.stored import Stored, records_about
from .hours import read_hours

KNOWN_FOR = timedelta(days=60)
"""As far back as forecasts, pages and phones look."""
HABITS = timedelta(days=14)
"""How long before that a thermometer is watched, to know how it usually moves."""


@dataclass(frozen=True)
class Measured:
    """What a tank's thermometers say, hour by hour, and what keepers have said of them."""

    hours: Mapping[str, Sequence[Hour]]
    trusts: tuple[Trust, ...]

    def water(self, now: datetime) -> Water:
        """The water of the 60 days until `now`."""
        return water_of(self.hours, self.trusts, now - KNOWN_FOR, now)

    def over_at(self, at: datetime) -> Measured:
        """The same, but for the hours that were not over at an instant."""
        over = hour_number(at)
        before = {name: [one for one in hours if one.number < over] for name, hours in self.hours.items()}
        return Measured({name: hours for name, hours in before.items() if hours}, self.trusts)


def read_measured(db: sa.Connection, household_id: str, tank_id: str, now: datetime) -> Measured:
    """What the tank's thermometers say of the last 60 days, and of the two weeks before."""
    hours = read_hours(db, household_id, tank_id, hour_number(now - KNOWN_FOR - HABITS))
    return Measured(hours, _trusts(db, household_id, tank_id) if hours else ())


def used_points(db: sa.Connection, household_id: str, tank_id: str, now: datetime) -> tuple[Point, ...]:
    """The hourly means of the last 60 days that a forecast may rest on."""
    return read_measured(db, household_id, tank_id, now).water(now).points


def typed_readings(db: sa.Connection, household_id: str, tank_id: str, now: datetime) -> tuple[Point, ...]:
    """What people typed for this tank in the last 60 days, in order of time."""
    records = records_about(db, household_id, tank_id, "reading", now - KNOWN_FOR, now)
    typed = (record for record in records if _is_typed(record))
    return tuple(sorted(Point(parse_instant(one.value("at")), float(one.value("temperature_c"))) for one in typed))


def _is_typed(record: Stored) -> bool:
    return bool(record.value("at")) and record.value("temperature_c") is not None


def _trusts(db: sa.Connection, household_id: str, tank_id: str) -> tuple[Trust, ...]:
    """In the order of their last writing; one that says nothing any more counts for nothing."""
    said = [record for record in records_about(db, household_id, tank_id, "trust") if record.value("right") is not None]
    said.sort(key=lambda record: record.fields["right"].stamp)
    return tuple(
        Trust(
            record.value("thermometer") or "",
            _instant(record.value("since")),
            _instant(record.value("until")),
            bool(record.value("right")),
        )
        for record in said
    )


def _instant(text: str | None) -> datetime | None:
    return parse_instant(text) if text else None
