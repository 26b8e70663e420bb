"""The nights ahead and which of them to catch him: local times made instants, and the rule of choice.

A night bears the date of the evening on which it begins. Its lamps-out is the first such local time after that
date's noon; the catch is 60 elapsed minutes later. A local time that does not exist takes the offset before the
change, one that exists twice is the first of the two (the meaning of `fold=0` in PEP 495).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from .wall import wall_instant

DARK_BEFORE_CATCH = timedelta(minutes=60)
FED_BEFORE_LAMPS_OUT = timedelta(hours=2)
"""When the evening's feeding is, as nobody says it (assumption)."""
NIGHTS = 21
AS_GOOD = 0.005
WORTH_A_CHANGE = 0.01
NOTHING_LEFT = 0.02
NOON = time(12)


@dataclass(frozen=True)
class Night:
    """The date of the evening on which a night begins, and the instant of its catch."""

    date: date
    at: datetime


@dataclass(frozen=True)
class Prospect:
    """What catching him on a night would save, and how much of that is still with him."""

    night: Night
    saved: float
    saved_with_him: float


def nights_ahead(now: datetime, zone: ZoneInfo, lamps_out: time, lamps_on: time) -> tuple[Night, ...]:
    """Return 21 nights from the one whose lamps-on is still to come; the first is at `now` when that is later."""
    first = night_of(now, zone, lamps_out, lamps_on)
    dates = (first + timedelta(days=n) for n in range(NIGHTS))
    return tuple(Night(day, max(now.astimezone(UTC), catch_instant(day, zone, lamps_out))) for day in dates)


def night_of(at: datetime, zone: ZoneInfo, lamps_out: time, lamps_on: time) -> date:
    """Return the night that is or comes next at an instant: the one whose lamps-on is still to come."""
    night = at.astimezone(zone).date() - timedelta(days=2)
    while lamps_on_instant(night, zone, lamps_out, lamps_on) <= at.astimezone(UTC):
        night += timedelta(days=1)
    return night


def catch_instant(day: date, zone: ZoneInfo, lamps_out: time) -> datetime:
    """Return the instant of the catch of the night that begins on `day`, in UTC."""
    return lamps_out_instant(day, zone, lamps_out) + DARK_BEFORE_CATCH


def lamps_out_instant(day: date, zone: ZoneInfo, lamps_out: time) -> datetime:
    """Return the first local time `lamps_out` after the noon of `day`, in UTC."""
    evening = day if lamps_out > NOON else day + timedelta(days=1)
    return wall_instant(evening, lamps_out, zone)


def lamps_on_instant(day: date, zone: ZoneInfo, lamps_out: time, lamps_on: time) -> datetime:
    """Return the first local time `lamps_on` after the lamps-out of the night that begins on `day`, in UTC."""
    out = lamps_out_instant(day, zone, lamps_out)
    morning = out.astimezone(zone).date()
    while wall_instant(morning, lamps_on, zone) <= out:
        morning += timedelta(days=1)
    return wall_instant(morning, lamps_on, zone)


def recommended(prospects: Sequence[Prospect], announced: date | None = None) -> Prospect | None:
    """Return the night to catch, or None when nothing worth a catch is left with him on any night.

    The greatest share saved wins, within 0.005 the earlier; an `announced` night stays for a gain under 0.01.
    """
    if not prospects or all(prospect.saved_with_him < NOTHING_LEFT for prospect in prospects):
        return None
    most = max(prospect.saved for prospect in prospects)
    best = next(prospect for prospect in prospects if prospect.saved >= most - AS_GOOD)
    kept = next((prospect for prospect in prospects if prospect.night.date == announced), None)
    return kept if kept and best.saved - kept.saved < WORTH_A_CHANGE else best
