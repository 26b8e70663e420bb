"""A batch of young in its nursery as people wrote it down, and the days on which something is done for it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from ..ration import UNKNOWN_TIN, Tin
from ..species import Rearing
from ..water import WaterTest
from .claims import Mark
from .duty import Amount, Unit
from .outlook import Lamps

ONE_DAY = timedelta(days=1)
DAYS_AHEAD = 3
"""Days that are planned: today, and two more, so that calendars show what comes."""
HALVES = 2
LEAST_MEASURES, MOST_MEASURES = 0.25, 200
"""Less of it nobody can take, and more nobody counts."""


@dataclass(frozen=True)
class Batch:
    """One batch; times are those of what was written down, in any order. `hatched_at` is the likeliest."""

    id: str
    began: datetime
    lamps: Lamps
    rearing: Rearing
    first_meal_at: datetime
    hatched_at: datetime
    alive: int | None
    """How many are alive by now, as far as it is known."""
    usual_c: float
    litres: float | None = None
    jug: Measure | None = None
    portion: str | None = None
    meals_a_day: int | None = None
    tin: Tin = UNKNOWN_TIN
    fed: tuple[datetime, ...] = ()
    set_going: tuple[datetime, ...] = ()
    tests: tuple[WaterTest, ...] = ()
    changes: tuple[Change, ...] = ()
    counted: tuple[datetime, ...] = ()
    marks: tuple[Mark, ...] = ()
    is_over: bool = False

    def meals(self) -> int:
        """Meals a day, as the keeper wants or else as the species' profile says."""
        return max(1, self.meals_a_day or round(self.rearing.meals_a_day))

    def age_days(self, at: datetime) -> float:
        """Days since hatching."""
        return (at - self.hatched_at) / ONE_DAY


@dataclass(frozen=True)
class Measure:
    """What the house measures with, and how much it holds, in the unit of what is measured."""

    name: str
    size: float | None


@dataclass(frozen=True)
class Change:
    """A change of water, and how much of it was changed."""

    at: datetime
    litres: float


@dataclass(frozen=True)
class Day:
    """One day between two nights: `before` and `out` are the lamps-out at its ends, `on` lies between; all in UTC."""

    date: date
    before: datetime
    on: datetime
    out: datetime


def days(batch: Batch, now: datetime, back: int = 0, ahead: int = DAYS_AHEAD) -> Iterator[Day]:
    """The day in which `now` lies, with the night before it, and so many days before and in all from it on.

    A day that the zone left out has no time in it, and is none.
    """
    first = batch.lamps.night_of(now)
    # In the dark it is the night that began yesterday: the day to come is tomorrow's.
    start = first if batch.lamps.are_lit(now) else first + ONE_DAY
    found = (day_of(start + number * ONE_DAY, batch.lamps) for number in range(-back, ahead))
    return (day for day in found if day.before < day.out)


def day_of(day: date, lamps: Lamps) -> Day:
    """The day that ends with the night of that date; lamps that come on as they go out are always lit."""
    yesterday = day - ONE_DAY
    before, on, out = lamps.out(yesterday), lamps.morning(yesterday), lamps.out(day)
    return Day(day, before, on if on < out else before, out)


def amount_of(quantity: float | None, unit: Unit, measure: Measure | None) -> Amount | None:
    """So much, also in halves of the house's measure where that holds a fitting amount; None where nothing is known."""
    if quantity is None:
        return None
    rounded = float(f"{quantity:.2g}")
    if measure is None or not measure.size or not LEAST_MEASURES <= quantity / measure.size <= MOST_MEASURES:
        return Amount(rounded, unit)
    halves = max(1, round(quantity / measure.size * HALVES))
    return Amount(rounded, unit, halves / HALVES, measure.name)


def first_since(times: Sequence[datetime], since: datetime, until: datetime) -> datetime | None:
    """The first of these from `since` on and before `until`."""
    return min((at for at in times if since <= at < until), default=None)
