"""Plans the meals of young in their nursery: by day light, evenly, each until the next one counts.

The day is shared out among the meals (assumption: the first half an hour after lamps-on, the last at the evening's
feeding, the others evenly between). Whoever feeds in the share of a meal has given that meal, whichever time it was
asked for: nobody is asked to feed twice, and who feeds late is not asked for the one that was missed.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import pairwise

from .batch import Batch, Day, days, first_since
from .duty import KEY_OF_KIND, Amount, Duty

AFTER_LAMPS_ON = timedelta(minutes=30)
LEAST_APART = timedelta(hours=1)
LATE_AT_NIGHT = timedelta(hours=2)


def planned_meals(batch: Batch, now: datetime) -> Iterator[Duty]:
    """The meals of the days ahead, from the first meal on."""
    amount = Amount(measures=1, measure=batch.portion) if batch.portion else None
    for day in days(batch, now):
        times = meal_times(batch, day)
        for number, (at, (since, until)) in enumerate(zip(times, shares(times, day), strict=True), start=1):
            if at >= batch.began and until > batch.first_meal_at:
                key = f"{KEY_OF_KIND['feed_fry']}:{batch.id}:{day.date.isoformat()}:{number}"
                done = first_since(batch.fed, max(since, batch.began), until)
                yield Duty(key, "feed_fry", batch.id, day.date, at, at, until, done_at=done, amount=amount)


def meal_times(batch: Batch, day: Day) -> list[datetime]:
    """When the meals of a day are, in UTC; fewer than are wanted where the day is too short for them."""
    first, last = day.on + AFTER_LAMPS_ON, min(batch.lamps.feeding(day.date), day.out)
    if first >= last:
        return [day.on + (day.out - day.on) / 2]
    count = min(batch.meals(), 1 + int((last - first) / LEAST_APART))
    if count == 1:
        return [last]
    return [_whole_minute(first + (last - first) * n / (count - 1)) for n in range(count)]


def shares(times: list[datetime], day: Day) -> list[tuple[datetime, datetime]]:
    """The shares of a day that belong to its meals, parted midway: from some time into the night before to lamps-out.

    Whoever feeds just after lamps-out is late with the last meal, and not early with tomorrow's.
    """
    begins = min(day.before + LATE_AT_NIGHT, day.on)
    bounds = [begins, *(one + (other - one) / 2 for one, other in pairwise(times)), day.out]
    return list(pairwise(bounds))


def _whole_minute(at: datetime) -> datetime:
    return at.replace(second=0, microsecond=0)
