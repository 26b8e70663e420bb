"""Plans what keeps a nursery's water and its numbers known: tests, changes, counts, and an alarm about ammonia.

Assumptions, where no source is named: a test each day for a fortnight and then every third day, before the evening's
change of water; a fifth of the water each day, or as much more, up to a half, as the tests call for; a count each week.
A change that comes near to what was asked for is enough.
Caution from 0.010 mg/L of NH3-N and alarm from 0.025, from the larval literature (`domain/water`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from math import prod

from ..water import ALARM_MG_L, CAUTION_MG_L, WaterTest, daily_share, excreted, share_to_reach
from .batch import Batch, Change, Day, amount_of, days, first_since
from .duty import KEY_OF_KIND, Amount, Duty, Kind, night_key

USUAL_SHARE, MOST_AT_ONCE = 0.2, 0.5
TEST_BEFORE_FEEDING = timedelta(hours=1)
CHANGE_BEFORE_FEEDING = timedelta(minutes=30)
TESTED_DAILY_DAYS, TESTED_EACH_DAYS, COUNTED_EACH_DAYS = 14, 3, 7
COUNT_OF_USE = timedelta(days=2)
TEST_SAYS_FOR = timedelta(days=3)
# Nearer to each other they show how far a kit can be read, and nothing that came in.
TESTS_APART = timedelta(hours=12)
NEAR_ENOUGH = 0.8
ALARM_OF_USE = timedelta(hours=12)


def planned_upkeep(batch: Batch, now: datetime) -> Iterator[Duty]:
    """Tests, changes and counts of the days ahead, and what the last test calls for at once."""
    share = _share(batch, now)
    for day in days(batch, now):
        age = _age(batch, day)
        if age < TESTED_DAILY_DAYS or age % TESTED_EACH_DAYS == 0:
            at = batch.lamps.feeding(day.date) - TEST_BEFORE_FEEDING
            done = first_since([test.at for test in batch.tests], max(day.before, batch.began), day.out)
            yield from _of_the_day("test_water", batch, day, at, done)
        at = batch.lamps.feeding(day.date) - CHANGE_BEFORE_FEEDING
        today = [change for change in batch.changes if max(day.before, batch.began) <= change.at < day.out]
        done = _enough_at(batch, today, share)
        yield from _of_the_day("change_water", batch, day, at, done, _to_change(batch, share))
    for day in days(batch, now, back=COUNT_OF_USE.days):
        if (age := _age(batch, day)) > 0 and age % COUNTED_EACH_DAYS == 0:
            yield _count(batch, day)
    yield from _alarm(batch)


def _age(batch: Batch, day: Day) -> int:
    """Days since it came in, by the calendar of its tank."""
    return (day.date - batch.began.astimezone(batch.lamps.zone).date()).days


def _of_the_day(
    kind: Kind, batch: Batch, day: Day, at: datetime, done: datetime | None, amount: Amount | None = None
) -> Iterator[Duty]:
    if at >= batch.began:
        key = night_key(kind, batch.id, day.date)
        yield Duty(key, kind, batch.id, day.date, at, at, day.out, done_at=done, amount=amount)


def _count(batch: Batch, day: Day) -> Duty:
    at = batch.lamps.feeding(day.date)
    key = night_key("count_fry", batch.id, day.date)
    done = first_since(batch.counted, at - COUNT_OF_USE, at + COUNT_OF_USE)
    return Duty(key, "count_fry", batch.id, day.date, at, at, at + COUNT_OF_USE, done_at=done)


def _alarm(batch: Batch) -> Iterator[Duty]:
    """The key bears the time of the test: the next one that is as bad is another matter."""
    last = _last_test(batch)
    free = last.free_mg_l(batch.usual_c) if last else None
    if last is None or free is None or free < ALARM_MG_L:
        return
    key = f"{KEY_OF_KIND['ammonia_high']}:{batch.id}:{last.at:%Y-%m-%dT%H:%MZ}"
    share = min(MOST_AT_ONCE, share_to_reach(free, CAUTION_MG_L))
    done = _enough_at(batch, _changes_since(batch, last), share)
    night = batch.lamps.night_of(last.at)
    until = last.at + ALARM_OF_USE
    amount = _to_change(batch, share)
    yield Duty(key, "ammonia_high", batch.id, night, last.at, last.at, until, done_at=done, amount=amount)


def _share(batch: Batch, now: datetime) -> float:
    """The share of the water to change today."""
    last = _last_test(batch)
    if last is None or last.at < now - TEST_SAYS_FOR:
        return USUAL_SHARE
    free = last.free_mg_l(batch.usual_c) or 0.0
    left = free * _left_by(batch, _changes_since(batch, last))
    return min(MOST_AT_ONCE, max(USUAL_SHARE, share_to_reach(left, CAUTION_MG_L), _lasting(batch, last)))


def _changes_since(batch: Batch, test: WaterTest) -> list[Change]:
    return [change for change in batch.changes if change.at >= test.at]


def _left_by(batch: Batch, changes: Iterable[Change]) -> float:
    """The share of what was in the water that these changes leave."""
    return prod(1 - _share_of(batch, change) for change in changes)


def _share_of(batch: Batch, change: Change) -> float:
    """As usual where nobody said how much the vessel holds."""
    return min(1.0, change.litres / batch.litres) if batch.litres else USUAL_SHARE


def _enough_at(batch: Batch, changes: Iterable[Change], share: float) -> datetime | None:
    """When these changes had come near to the share asked for; of a vessel of unknown volume any is enough."""
    left = 1.0
    for change in sorted(changes, key=lambda change: change.at):
        left *= 1 - _share_of(batch, change)
        if not batch.litres or 1 - left >= NEAR_ENOUGH * share:
            return change.at
    return None


def _lasting(batch: Batch, last: WaterTest) -> float:
    """The share a day that holds what comes in, by the last two tests half a day apart and the changes between them."""
    known = (test for test in batch.tests if test.ammonia_mg_l is not None and last.at - test.at >= TESTS_APART)
    before, share = max(known, key=_at, default=None), last.free_share(batch.usual_c)
    if before is None or before.ammonia_mg_l is None or last.ammonia_mg_l is None or not share or not batch.litres:
        return 0.0
    between = [_share_of(batch, change) for change in batch.changes if before.at <= change.at < last.at]
    days_between = (last.at - before.at) / timedelta(days=1)
    comes_in = excreted(before.ammonia_mg_l, last.ammonia_mg_l, between, batch.litres, days_between)
    return daily_share(comes_in, batch.litres, CAUTION_MG_L / share)


def _last_test(batch: Batch) -> WaterTest | None:
    return max((test for test in batch.tests if test.ammonia_mg_l is not None), key=_at, default=None)


def _at(test: WaterTest) -> datetime:
    return test.at


def _to_change(batch: Batch, share: float) -> Amount | None:
    return amount_of(batch.litres * share, "L", batch.jug) if batch.litres else None
