"""The summary of a morning: when it is told, and which of the day's duties it tells one person of."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from ..wall import wall_instant
from .duty import LOOSE, Duty

AHEAD = timedelta(hours=24)


def next_morning(wall: time, zone: ZoneInfo, after: datetime) -> datetime:
    """The next instant later than `after` at which clocks of `zone` show `wall` (`wall_instant`), in UTC."""
    today = after.astimezone(zone).date()
    # A zone may have left out a whole day.
    return min(at for days in range(-1, 4) if (at := wall_instant(today + timedelta(days), wall, zone)) > after)


def of_the_day(duties: Iterable[Duty], person: str, now: datetime) -> tuple[Duty, ...]:
    """What that person is asked for within a day: his own and everybody's, by time; nothing that another has taken."""
    standing = (duty for duty in duties if duty.done_at is None and now < duty.until_at and duty.due_at < now + AHEAD)
    his = (duty for duty in standing if duty.taken_by in (None, person) or duty.kind in LOOSE)
    return tuple(sorted(his, key=lambda duty: (duty.due_at, duty.key)))
