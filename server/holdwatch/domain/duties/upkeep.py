"""Plans what keeps a nursery's water and its numbers known: tests, changes, counts, and an alarm about ammonia.

Assumptions, where no source is named: a test each day for a fortnight and then every third day, before the evening's
change of water; a fifth of the water each day, or as much more, up to a half, as the tests call for; a count each week.
Caution from 0.010 mg/L of NH3-N and alarm from 0.025, from the larval literature (`domain/water`).
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from ..water import ALARM_MG_L, CAUTION_MG_L, WaterTest, daily_share, excreted, share_to_reach
from .batch import Batch, Day, amount_of, days, first_since
from .duty import KEY_OF_KIND, Amount, Duty, Kind, night_key

USUAL_SHARE, MOST_AT_ONCE = 0.2, 0.5
TEST_BEFORE_FEEDING = timedelta(hours=1)
CHANGE_BEFORE_FEEDING = timedelta(minutes=30)
TESTED_DAILY_DAYS, TESTED_EACH_DAYS, COUNTED_EACH_DAYS = 14, 3, 7
COUNT_OF_USE = timedelta(days=2)
TEST_SAYS_FOR = timedelta(days=3)
ALARM_OF_USE = timedelta(hours=12)


def planned_upkeep(batch: Batch, now: datetime) -> Iterator[Duty]:
    """Tests, changes and counts of the days ahead, and what the last test calls for at once."""
    for day in days(batch, now):
        age = (day.date - batch.began.astimezone(batch.lamps.zone).date()).days
        if age < TESTED_DAILY_DAYS or age % TESTED_EACH_DAYS == 0:
            at = batch.lamps.feeding(day.date) - TEST_BEFORE_FEEDING
            yield from _of_the_day("test_water", batch, day, at, [test.at for test in batch.tests])
        at = batch.lamps.feeding(day.date) - CHANGE_BEFORE_FEEDING
        changed = [change.at for change in batch.changes]
        yield from _of_the_day("change_water", batch, day, at, changed, _to_change(batch, _share(batch, now)))
        if age > 0 and age % COUNTED_EACH_DAYS == 0:
            yield _count(batch, day)
    yield from _alarm(batch)


def _of_the_day(
    kind: Kind, batch: Batch, day: Day, at: datetime, answers: list[datetime], amount: Amount | None = None
) -> Iterator[Duty]:
    if at < batch.began:
        return
    done = first_since(answers, max(day.before, batch.began), day.out)
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
    until = last.at + ALARM_OF_USE
    share = min(MOST_AT_ONCE, share_to_reach(free, CAUTION_MG_L))
    done = first_since([change.at for change in batch.changes], last.at, until)
    night = batch.lamps.night_of(last.at)
    amount = _to_change(batch, share)
    yield Duty(key, "ammonia_high", batch.id, night, last.at, last.at, until, done_at=done, amount=amount)


def _share(batch: Batch, now: datetime) -> float:
    """The share of the water to change today."""
    last = _last_test(batch)
    if last is None or last.at < now - TEST_SAYS_FOR:
        return USUAL_SHARE
    free = last.free_mg_l(batch.usual_c)
    was_changed = any(change.at >= last.at for change in batch.changes)
    at_once = 0.0 if free is None or was_changed else share_to_reach(free, CAUTION_MG_L)
    return min(MOST_AT_ONCE, max(USUAL_SHARE, at_once, _lasting(batch, last)))


def _lasting(batch: Batch, last: WaterTest) -> float:
    """The share a day that holds what comes in, by the last two tests and the changes between them."""
    before = max((t for t in batch.tests if t.at < last.at and t.ammonia_mg_l is not None), key=_at, default=None)
    share = last.free_share(batch.usual_c)
    if before is None or before.ammonia_mg_l is None or last.ammonia_mg_l is None or not share or not batch.litres:
        return 0.0
    between = [change for change in batch.changes if before.at <= change.at < last.at]
    shares = [min(1.0, (change.litres or 0.0) / batch.litres) for change in between]
    days_between = (last.at - before.at) / timedelta(days=1)
    comes_in = excreted(before.ammonia_mg_l, last.ammonia_mg_l, shares, batch.litres, days_between)
    return daily_share(comes_in, batch.litres, CAUTION_MG_L / share)


def _last_test(batch: Batch) -> WaterTest | None:
    return max((test for test in batch.tests if test.ammonia_mg_l is not None), key=_at, default=None)


def _at(test: WaterTest) -> datetime:
    return test.at


def _to_change(batch: Batch, share: float) -> Amount | None:
    return amount_of(batch.litres * share, "L", batch.jug) if batch.litres else None
