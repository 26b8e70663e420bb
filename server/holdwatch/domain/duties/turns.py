"""Who is asked first: whose turn it is on a day of the week, and when everybody is called.

Whoever has his turn is asked two hours before a duty, or at the time that people are told of it where that is earlier;
an hour before, what nobody has taken goes to everybody (the hour is the household's promise, the two are an
assumption). Whoever was asked before its time is told again when it is time, if it is still his. On days without a
turn, and of what cannot wait or cannot be foreseen, everybody is told at once when it is time.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from .duty import AFTERWARDS, OF_A_NURSERY, Duty, Kind

ASKED_BEFORE = timedelta(hours=2)
CALLED_BEFORE = timedelta(hours=1)
WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
PLANNED_AHEAD: frozenset[Kind] = frozenset(
    {"look_tonight", "look_by_day", "window_opens", "catch_tonight", "move_male", "collect_larvae", "first_food"}
)
IN_TURN = PLANNED_AHEAD | (AFTERWARDS - {"pumps_on"}) | (OF_A_NURSERY - {"ammonia_high"})


@dataclass(frozen=True)
class Asking:
    """Who is to be told of a duty by now, and when to look at it next.

    `whom` is None for everybody whom it concerns. `again` are those who are told once more if they were asked before
    its time. `next_at` is None once nobody is left to be told.
    """

    whom: frozenset[str] | None
    again: frozenset[str]
    next_at: datetime | None


def weekday(day: date) -> str:
    """The day of the week as BYDAY of RFC 5545 names it."""
    return WEEKDAYS[day.weekday()]


def first_asked_at(duty: Duty) -> datetime:
    """The earliest time at which anybody may be told of it."""
    return min(duty.tell_at, duty.due_at - ASKED_BEFORE) if duty.kind in IN_TURN else duty.tell_at


def asking(duty: Duty, turns: Collection[str], now: datetime) -> Asking:
    """Whom to tell at `now`; `turns` are those at home whose turn it is on the duty's day."""
    nobody = frozenset[str]()
    in_turn = frozenset(turns) if duty.kind in IN_TURN else nobody
    if not in_turn:
        return Asking(None, nobody, None) if now >= duty.tell_at else Asking(nobody, nobody, duty.tell_at)
    first_at = first_asked_at(duty)
    call_at = max(first_at, duty.due_at - CALLED_BEFORE)
    next_at = min((at for at in (first_at, call_at, duty.tell_at) if at > now), default=None)
    is_time = now >= duty.tell_at
    reminded = in_turn if duty.taken_by is None else frozenset({duty.taken_by})
    again = reminded if is_time and first_at < duty.tell_at else nobody
    if duty.taken_by is not None:
        return Asking(None if is_time else nobody, again, next_at)
    return Asking(None if now >= call_at else in_turn if now >= first_at else nobody, again, next_at)
