"""Quiet hours: how a person wants to be reminded, and when the hours in which he is not end."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from ..wall import wall_instant

# Around the day of `at`: a quiet night may begin the day before, and where a zone left out a whole day (Samoa in
# December 2011) two days before; where clocks go back over midnight it may have begun on the day that comes next.
DAYS_AROUND = range(-2, 2)


@dataclass(frozen=True)
class Wish:
    """One person's wishes. Quiet hours have both ends or neither, in the wall clock of `zone`."""

    quiet_from: time | None
    quiet_until: time | None
    zone: ZoneInfo
    catch_breaks_quiet: bool
    """Whether the night of the catch, and what else cannot wait, may wake him."""
    email: str | None
    morning_at: time | None = None
    """When he wants a summary of the day; None for none."""


NO_WISH = Wish(None, None, ZoneInfo("UTC"), False, None)
"""Of whoever said nothing."""


def quiet_until(wish: Wish, at: datetime) -> datetime | None:
    """The end of the quiet hours in which `at` lies, in UTC; None where it lies in none."""
    if wish.quiet_from is None or wish.quiet_until is None:
        return None
    today = at.astimezone(wish.zone).date()
    ends = [
        end
        for days in DAYS_AROUND
        for start, end in [_quiet_of(today + timedelta(days), wish.quiet_from, wish.quiet_until, wish.zone)]
        if start <= at < end
    ]
    return max(ends, default=None)


def _quiet_of(day: date, begins: time, ends: time, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """The quiet hours that begin on a day.

    A time of day that the clocks leave out is told by the offset before they went forward (RFC 5545, 3.3.5). Of one
    that comes twice the hours begin at the first, as that section has it, and end at the second: nobody is woken in
    an hour that he named as quiet.
    """
    last_day = day if begins < ends else day + timedelta(days=1)
    return wall_instant(day, begins, zone), max(wall_instant(last_day, ends, zone, fold) for fold in (0, 1))
