"""Plans when live food is set going: for the first meal under an uncertain hatch, and then for each day anew.

- *first food*: at the time that is too late with the chance that the costs say (newsvendor; the profile's 20 to 1
  against being late), which follows from how sure the hatch is. It moves with the forecast; once people were told, only
  by half a day or more. What was set going for it does, unless the time has moved half a day beyond it.
- *start food*: brine shrimp for the meals of one day, by the tin's T90, the enrichment from the third day of feeding
  on, and the handling. Where nobody would be up, the evening before. The meals of the first days are seen to by *first
  food*; where nothing was set going in time, it is asked for at once.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from math import ceil

from ..first_meal import cost_quantile, first_meal_at
from ..ration import Tin, cysts_g, nauplii_a_day, set_going_at
from ..species import Rearing
from .batch import Batch, Measure, amount_of, days, first_since
from .claims import claimed
from .duty import Amount, Duty, brood_key, night_key
from .meals import meal_times
from .outlook import Lamps, Outlook, surely_empty
from .plan import LOST_UNTIL, Watched

BRINE_SHRIMP = "brine_shrimp"
STANDS_WITHIN = timedelta(hours=12)
OF_USE = timedelta(hours=12)
SET_GOING_BEFORE = timedelta(hours=12)
MOST_G = 1000.0
"""More than a tin holds: a yield or a count is a slip, and no amount is better than that one."""
FIVE_MINUTES = timedelta(minutes=5)


@dataclass(frozen=True)
class Supply:
    """What the first food of a brood follows from: the species, the tin, and what was set going for it."""

    rearing: Rearing
    tin: Tin
    set_going: tuple[datetime, ...] = ()


def planned_first_food(
    watched: Watched, outlook: Outlook | None, supply: Supply, standing: Duty | None, now: datetime
) -> Iterator[Duty]:
    """The brood's first food, while he holds; `standing` is the duty as it was planned before.

    Where no forecast can be made, or a loss is only likely, what stands is kept.
    """
    if watched.ended is not None:
        return
    planned = _first_food(watched.brood, outlook, supply, watched.lamps) if outlook else None
    is_kept = outlook is None or (outlook.lost >= LOST_UNTIL and not surely_empty(watched.looks))
    duty = planned or (standing if is_kept else None)
    if duty and standing and standing.tell_at <= now and abs(duty.due_at - standing.due_at) < STANDS_WITHIN:
        duty = replace(standing, amount=duty.amount)
    if duty and duty.until_at > now:
        done = first_since(supply.set_going, duty.due_at - SET_GOING_BEFORE, duty.until_at)
        yield claimed(replace(duty, taken_by=None, done_at=done, skipped=False, put_off=()), watched.marks)


def _first_food(brood: str, outlook: Outlook, supply: Supply, lamps: Lamps) -> Duty | None:
    if outlook.catch is None or not outlook.hatched:
        return None
    rearing = supply.rearing
    earliest = outlook.morning(outlook.catch)
    chance = cost_quantile(rearing.late_costs)
    meal = first_meal_at(dict(outlook.hatched), rearing.yolk_days, rearing.yolk_days_spread, earliest, chance)
    is_shrimp = rearing.first_food == BRINE_SHRIMP
    hours = _hours_to_hatch(rearing, supply.tin) if is_shrimp else 24 * rearing.culture_days
    at = by_day(set_going_at(meal, hours, 0, rearing.handling_hours), lamps)
    amount = _cysts(rearing.young, 0, rearing, supply.tin) if is_shrimp else None
    key = brood_key("first_food", brood)
    return Duty(key, "first_food", brood, lamps.night_of(at), at, at, at + 2 * OF_USE, amount=amount)


def planned_hatches(batch: Batch, now: datetime) -> Iterator[Duty]:
    """Brine shrimp to set going for the days ahead, while the young are of the age for it."""
    rearing = batch.rearing
    has_begun = first_since(batch.set_going, batch.began - 4 * OF_USE, now + OF_USE) is not None
    for day in days(batch, now):
        meal = max(meal_times(batch, day)[0], batch.first_meal_at)
        if meal >= day.out or not rearing.shrimp_from_days <= batch.age_days(meal) <= rearing.shrimp_until_days:
            continue
        at = by_day(set_going_at(meal, *_hours(batch, meal)), batch.lamps)
        if at < batch.began and has_begun:
            continue
        at = max(at, batch.began)
        done = first_since(batch.set_going, at - SET_GOING_BEFORE, at + OF_USE)
        amount = _cysts(batch.alive, batch.age_days(meal), rearing, batch.tin)
        key = night_key("start_food", batch.id, day.date)
        night = batch.lamps.night_of(at)
        yield Duty(key, "start_food", batch.id, night, at, at, at + OF_USE, done_at=done, amount=amount)
        # What is asked for at once is so for one day's food.
        has_begun = True


def by_day(at: datetime, lamps: Lamps) -> datetime:
    """The instant itself where the lamps are lit, to five minutes, else the evening's feeding before; in UTC."""
    night = lamps.night_of(at)
    if at >= lamps.out(night):
        return lamps.feeding(night)
    return at.astimezone(UTC) - (at - datetime.min.replace(tzinfo=UTC)) % FIVE_MINUTES


def _hours(batch: Batch, meal: datetime) -> tuple[float, float, float]:
    """To hatch, to enrich and to handle, of the food for the day of that meal."""
    rearing, tin = batch.rearing, batch.tin
    day_of_feeding = ceil((meal - batch.first_meal_at) / timedelta(days=1) + 0.5)
    is_fresh = day_of_feeding <= rearing.fresh_meal_days
    enrich = rearing.hours_to_enrich if tin.hours_to_enrich is None else tin.hours_to_enrich
    return _hours_to_hatch(rearing, tin), 0.0 if is_fresh else enrich, rearing.handling_hours


def _hours_to_hatch(rearing: Rearing, tin: Tin) -> float:
    return rearing.hours_to_hatch if tin.hours_to_hatch is None else tin.hours_to_hatch


def _cysts(fry: float | None, age_days: float, rearing: Rearing, tin: Tin) -> Amount | None:
    """Grams for a day; None where nobody knows how many young there are, or what a gram yields, or that is absurd."""
    if not fry or not tin.nauplii_per_gram:
        return None
    wanted = nauplii_a_day(fry, age_days, rearing.ration_from_days, rearing.ration_nauplii)
    grams = cysts_g(wanted, rearing.lost_share, tin.nauplii_per_gram)
    measure = Measure(tin.measure, tin.measure_g) if tin.measure else None
    return amount_of(grams, "g", measure) if grams <= MOST_G else None
