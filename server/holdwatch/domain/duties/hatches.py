"""Plans when live food is set going: for the first meal under an uncertain hatch, and then for each day anew.

- *first food*: at the time that is too late with the chance that the costs say (newsvendor; the profile's 20 to 1
  against being late), which follows from how sure the hatch is. It moves with the forecast. Once people were told of it
  it is put forward for an hour or more, and back only for a day and a half, by when what was set going is old; never to
  a time that is over, but to now.
- *start food*: brine shrimp for the meals of one day, by the tin's T90, the enrichment from the third day of feeding
  on, and the handling. Where nobody would be up, the evening before. The meals of the first days are seen to by *first
  food*; where nothing was set going for them, it is asked for at once, for the first day that it can still reach.
What was set going is for one of these, the first that it answers.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from math import ceil

from ..first_meal import cost_quantile, first_meal_at
from ..ration import BRINE_SHRIMP, Tin, cysts_g, nauplii_a_day, set_going_at
from ..species import Rearing
from .batch import DAYS_AHEAD, Batch, Measure, amount_of, days, first_since
from .claims import Mark, claimed
from .duty import Amount, Duty, brood_key, night_key
from .meals import meal_times
from .outlook import Lamps, Outlook, surely_empty
from .plan import LOST_UNTIL, Watched

OF_USE = timedelta(hours=12)
SET_GOING_BEFORE = timedelta(hours=12)
PUT_FORWARD_FROM, PUT_BACK_FROM = timedelta(hours=1), timedelta(hours=36)
FIVE_MINUTES = timedelta(minutes=5)
MOST_G = 1000.0
"""More than a tin holds: a yield or a count is a slip, and no amount is better than that one."""
DAYS_BACK = 3
"""Days whose hatches are looked at again, for what was set going for them is not for those of today."""


@dataclass(frozen=True)
class Supply:
    """What the first food of a brood follows from: the species, the tin, and what was set going for it."""

    rearing: Rearing
    tin: Tin
    set_going: tuple[datetime, ...] = ()


@dataclass(frozen=True)
class Planned:
    """The first food as it was planned before, and whether anybody was told of it."""

    duty: Duty
    is_told: bool


def planned_first_food(
    watched: Watched, outlook: Outlook | None, supply: Supply, standing: Sequence[Planned], now: datetime
) -> Iterator[Duty]:
    """The brood's first food, while he holds; `standing` is what was planned of it before.

    Where no forecast can be made, or a loss is only likely, what stands is kept.
    """
    if watched.ended is not None:
        return
    last = max(standing, key=lambda one: one.duty.due_at, default=None)
    wanted = _first_food(watched.brood, outlook, supply, watched.lamps) if outlook else None
    is_kept = outlook is None or (outlook.lost >= LOST_UNTIL and not surely_empty(watched.looks))
    if wanted is None and last is not None and is_kept:
        wanted = last.duty
    if wanted is None:
        return
    current = wanted if last is None else replace(wanted, key=last.duty.key)
    if last is not None and last.is_told:
        told = _judged(last.duty, supply, watched.marks)
        current = replace(_as_told(wanted, told, watched.lamps, now), amount=wanted.amount)
    earlier = (_judged(one.duty, supply, watched.marks) for one in standing if one.duty.key != current.key)
    judged = (*(one for one in earlier if one.done_at is not None), _judged(current, supply, watched.marks))
    yield from (duty for duty in judged if duty.until_at > now)


def _judged(duty: Duty, supply: Supply, marks: Sequence[Mark]) -> Duty:
    """With who has it and whether it is done, by what was set going and what people said."""
    done = first_since(supply.set_going, duty.due_at - SET_GOING_BEFORE, duty.until_at)
    return claimed(replace(duty, taken_by=None, done_at=done, skipped=False, put_off=()), marks)


def _as_told(wanted: Duty, told: Duty, lamps: Lamps, now: datetime) -> Duty:
    """What people who were told of it are to hear now: the same, unless it has moved by more than they can ignore.

    Where what was told is done, a time that has moved away from it is for another batch of food, and another duty.
    """
    at = wanted.due_at if wanted.due_at > now else lamps.next_light(now)
    is_sooner = at <= told.due_at - PUT_FORWARD_FROM
    is_much_later = wanted.due_at >= told.due_at + PUT_BACK_FROM
    if not (is_sooner or is_much_later):
        return told
    night, is_another = lamps.night_of(at), is_much_later and told.done_at is not None
    key = night_key("first_food", wanted.brood, night) if is_another else told.key
    return replace(wanted, key=key, night=night, due_at=at, tell_at=at, until_at=at + 2 * OF_USE)


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
    free = sorted(batch.set_going)
    for duty in _hatches(batch, now):
        done = first_since(free, duty.due_at - SET_GOING_BEFORE, duty.until_at)
        if done is not None:
            free.remove(done)
        yield replace(duty, done_at=done)


def _hatches(batch: Batch, now: datetime) -> Iterator[Duty]:
    """In the order of their days, from some days back on."""
    rearing = batch.rearing
    is_seen_to = first_since(batch.set_going, batch.began - 4 * OF_USE, batch.began) is not None
    last = max(day.out for day in days(batch, now))
    ahead = DAYS_AHEAD + ceil(sum(_hours(batch, batch.first_meal_at + timedelta(days=99))) / 24)
    for day in days(batch, now, DAYS_BACK, ahead):
        meal = max(meal_times(batch, day)[0], batch.first_meal_at)
        if meal >= day.out or not rearing.shrimp_from_days <= batch.age_days(meal) <= rearing.shrimp_until_days:
            continue
        hours = _hours(batch, meal)
        at = by_day(set_going_at(meal, *hours), batch.lamps)
        if at < batch.began:
            if is_seen_to or batch.began + timedelta(hours=sum(hours)) >= day.out:
                continue
            # What is asked for at once is so for one day's food.
            at, is_seen_to = batch.began, True
        if at >= last:
            return
        amount = _cysts(batch.alive, batch.age_days(meal), rearing, batch.tin)
        key = night_key("start_food", batch.id, day.date)
        yield Duty(key, "start_food", batch.id, batch.lamps.night_of(at), at, at, at + OF_USE, amount=amount)


def by_day(at: datetime, lamps: Lamps) -> datetime:
    """The instant itself where the lamps are lit, to five minutes, else the evening's feeding before; in UTC."""
    if not lamps.are_lit(at):
        return lamps.feeding(lamps.night_of(at))
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
