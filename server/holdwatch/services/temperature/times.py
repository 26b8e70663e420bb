"""Dates and times as files hold them, read as instants; what may be read in two ways is asked for, never guessed.

Read without asking: ISO 8601 and RFC 3339 with or without offset, the year first with any of - / . between, days with
the name of their month in English, and seconds or milliseconds since 1970. A date in figures with its year last, or
with a year of two figures, needs an order, unless all that was shown fits one order only. A date without a time
stands for noon. Without an offset a time is by the clock of the tank.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta, timezone
from typing import Literal, NamedTuple

from ...records.instants import EPOCH

Order = Literal["dmy", "mdy", "ymd"]
ORDERS: tuple[Order, ...] = ("dmy", "mdy", "ymd")
NOON = time(12)
MONTHS = {name: number for number, name in enumerate("jan feb mar apr may jun jul aug sep oct nov dec".split(), 1)}
CLOCK = r"""(?:[T,\s]\s*(?P<hour>\d{1,2})[:.](?P<minute>\d{2})(?:[:.](?P<second>\d{2})(?:[.,](?P<part>\d{1,9}))?)?
    \s*(?P<half>[AaPp]\.?[Mm]\.?)?
    \s*(?P<zone>Z|UTC|GMT|[+\-\u2212]\d{2}(?::?\d{2})?)?)?"""
FIGURES = re.compile(rf"(?P<a>\d{{1,4}})(?P<sep>[-/.])(?P<b>\d{{1,2}})(?P=sep)(?P<c>\d{{1,4}}){CLOCK}", re.VERBOSE)
DAY_FIRST = re.compile(
    rf"(?:[A-Za-z]{{3,9}},?\s+)?(?P<day>\d{{1,2}})[-\s.]+(?P<month>[A-Za-z]{{3,9}})[-\s.,]+(?P<year>\d{{4}}){CLOCK}",
    re.VERBOSE,
)
MONTH_FIRST = re.compile(
    rf"(?:[A-Za-z]{{3,9}},?\s+)?(?P<month>[A-Za-z]{{3,9}})\.?\s+(?P<day>\d{{1,2}}),?\s+(?P<year>\d{{4}}){CLOCK}",
    re.VERBOSE,
)
SECONDS, MILLISECONDS = 10, 13


class BadTime(ValueError):
    """A text that is no instant; the message says why, without a full stop."""


class NeedsOrder(BadTime):
    """A date in figures that may be read in more than one order."""


class Told(NamedTuple):
    """A date and time as it was read: aware where the text has an offset; whether the time of day is ours."""

    at: datetime
    is_noon: bool = False


def read_time(text: str, order: Order | None) -> Told:
    """Read one cell; BadTime where it is no date and time, NeedsOrder where the order is open."""
    # The usual way, in a time that a million of them can wait for; with a blank before the offset it is read below.
    if text[4:5] == "-" and len(text) > 10:
        try:
            return Told(datetime.fromisoformat(text))
        except ValueError:
            return _read(text.strip(), order)
    return _read(text.strip(), order)


def orders_of(texts: Iterable[str]) -> tuple[Order, ...]:
    """The orders in which every one of these dates in figures is a date; all of them where no figures are there."""
    possible = set(ORDERS)
    for text in texts:
        found = FIGURES.fullmatch(text.strip())
        if found and (fitting := _orders(found)):
            possible &= fitting
    return tuple(order for order in ORDERS if order in possible)


def needs_order(texts: Iterable[str]) -> bool:
    """Whether any of these can only be read when the order is known."""
    return any(found and len(found["a"]) < 4 for text in texts if (found := FIGURES.fullmatch(text.strip())))


def _read(text: str, order: Order | None) -> Told:
    if text.isdigit() and text.isascii():
        return _since_1970(text)
    if found := FIGURES.fullmatch(text):
        return _with_clock(_in_order(found, order), found)
    if found := DAY_FIRST.fullmatch(text) or MONTH_FIRST.fullmatch(text):
        month = MONTHS.get(found["month"][:3].lower())
        if month:
            return _with_clock(_date(int(found["year"]), month, int(found["day"]), text), found)
    return _basic(text)


def _since_1970(text: str) -> Told:
    if len(text) not in (SECONDS, MILLISECONDS):
        raise BadTime(f"{text[:20]!r} is no date and time")
    seconds = int(text) / (1 if len(text) == SECONDS else 1000)
    return Told(EPOCH + timedelta(seconds=seconds))


def _basic(text: str) -> Told:
    """Such as 20261125T201000Z, or a date alone."""
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        raise BadTime(f"{text[:40]!r} is no date and time" if text else "no date and time") from None
    return Told(datetime.combine(at.date(), NOON), is_noon=True) if len(text) <= 10 else Told(at)


def _in_order(found: re.Match[str], order: Order | None) -> date:
    if len(found["a"]) == 4:
        order = "ymd"
    if order is None:
        raise NeedsOrder(f"{found[0][:20]!r} may be read in more than one way")
    parts = dict(zip(order, (found["a"], found["b"], found["c"]), strict=True))
    return _date(_year(parts["y"], found), int(parts["m"]), int(parts["d"]), found[0])


def _orders(found: re.Match[str]) -> set[Order]:
    fitting: set[Order] = set()
    for order in ORDERS if len(found["a"]) < 4 else ("ymd",):
        try:
            _in_order(found, order)
        except BadTime:
            continue
        fitting.add(order)
    return fitting


def _year(text: str, found: re.Match[str]) -> int:
    if len(text) not in (2, 4):
        raise BadTime(f"{found[0][:20]!r} has no year of two or four figures in that place")
    return int(text) if len(text) == 4 else 2000 + int(text)


def _date(year: int, month: int, day: int, text: str) -> date:
    try:
        return date(year, month, day)
    except ValueError:
        raise BadTime(f"{text[:20]!r} is no day of the calendar, read in this order") from None


def _with_clock(day: date, found: re.Match[str]) -> Told:
    if found["hour"] is None:
        return Told(datetime.combine(day, NOON), is_noon=True)
    hour, minute, second = int(found["hour"]), int(found["minute"]), int(found["second"] or 0)
    part = int(f"{found['part'] or 0:<06}"[:6])
    if found["half"]:
        hour = _hour_of_half(hour, found["half"][0].lower() == "p", found[0])
    # A leap second, as RFC 3339 writes it, is the second after the 59th.
    leap = timedelta(seconds=1) if second == 60 else timedelta(0)
    try:
        at = datetime.combine(day, time(hour, minute, min(second, 59), part, tzinfo=_zone(found["zone"])))
    except ValueError:
        raise BadTime(f"{found[0][:40]!r} is no time of day") from None
    return Told(at + leap)


def _hour_of_half(hour: int, is_afternoon: bool, text: str) -> int:
    if not 1 <= hour <= 12:
        raise BadTime(f"{text[:40]!r} has no hour from 1 to 12")
    return hour % 12 + (12 if is_afternoon else 0)


def _zone(text: str | None) -> timezone | None:
    if text is None:
        return None
    if text in ("Z", "UTC", "GMT"):
        return UTC
    hours, minutes = int(text[1:3]), int(text[-2:]) if len(text) > 3 else 0
    offset = timedelta(hours=hours, minutes=minutes)
    return timezone(offset if text[0] == "+" else -offset)
