"""Quiet hours by the wall clock, over midnight and where clocks change."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from holdwatch.domain.duties.quiet import NO_WISH, Wish, quiet_until


def wish(begins: str, ends: str, zone: str) -> Wish:
    return Wish(time.fromisoformat(begins), time.fromisoformat(ends), ZoneInfo(zone), False, None)


def end(wished: Wish, at: str) -> str | None:
    """The end, by the clock of the zone and with its offset."""
    found = quiet_until(wished, datetime.fromisoformat(at))
    return found and found.astimezone(wished.zone).isoformat(timespec="minutes")


def test_nobody_who_said_nothing_has_quiet_hours():
    assert quiet_until(NO_WISH, datetime(2026, 11, 25, 3, tzinfo=UTC)) is None


@pytest.mark.parametrize(
    ("at", "expected"),
    [
        ("2026-11-25T21:59+01:00", None),
        ("2026-11-25T22:00+01:00", "2026-11-26T07:00+01:00"),
        ("2026-11-26T00:00+01:00", "2026-11-26T07:00+01:00"),
        ("2026-11-26T06:59+01:00", "2026-11-26T07:00+01:00"),
        ("2026-11-26T07:00+01:00", None),
        # The same instant, told from elsewhere.
        ("2026-11-26T05:59+00:00", "2026-11-26T07:00+01:00"),
    ],
)
def test_over_midnight(at: str, expected: str | None):
    assert end(wish("22:00", "07:00", "Europe/Berlin"), at) == expected


def test_within_one_day():
    rest = wish("13:00", "15:30", "Europe/Berlin")
    assert end(rest, "2026-11-25T12:59+01:00") is None
    assert end(rest, "2026-11-25T13:00+01:00") == "2026-11-25T15:30+01:00"
    assert end(rest, "2026-11-25T15:30+01:00") is None


# The rules of the IANA time zone database: Berlin went forward on 2026-03-29 at 02:00 and back on 2026-10-25 at 03:00.
@pytest.mark.parametrize(
    ("hours", "at", "expected"),
    [
        # The night is an hour shorter, and an hour longer: the end is seven by the wall clock either way.
        (("22:00", "07:00"), "2026-03-28T23:00+01:00", "2026-03-29T07:00+02:00"),
        (("22:00", "07:00"), "2026-10-24T23:00+02:00", "2026-10-25T07:00+01:00"),
        (("22:00", "07:00"), "2026-10-25T06:30+01:00", "2026-10-25T07:00+01:00"),
        # Half past two is left out: by the offset before, that is half past three (RFC 5545, 3.3.5).
        (("22:00", "02:30"), "2026-03-29T01:59+01:00", "2026-03-29T03:30+02:00"),
        (("02:30", "07:00"), "2026-03-29T03:29+02:00", None),
        (("02:30", "07:00"), "2026-03-29T03:30+02:00", "2026-03-29T07:00+02:00"),
        # Half past two comes twice: begun at the first, ended at the second.
        (("22:00", "02:30"), "2026-10-25T02:29+02:00", "2026-10-25T02:30+01:00"),
        (("22:00", "02:30"), "2026-10-25T02:45+02:00", "2026-10-25T02:30+01:00"),
        (("22:00", "02:30"), "2026-10-25T02:30+01:00", None),
        (("02:30", "07:00"), "2026-10-25T02:29+02:00", None),
        (("02:30", "07:00"), "2026-10-25T02:30+02:00", "2026-10-25T07:00+01:00"),
        (("02:30", "07:00"), "2026-10-25T02:15+01:00", "2026-10-25T07:00+01:00"),
    ],
)
def test_where_clocks_change(hours: tuple[str, str], at: str, expected: str | None):
    assert end(wish(*hours, "Europe/Berlin"), at) == expected


def test_clocks_that_went_back_over_midnight():
    """In Newfoundland they went back at 00:01, to 23:01 of the day before (2006-10-29)."""
    hours = wish("00:00", "06:00", "America/St_Johns")
    assert end(hours, "2006-10-29T02:29+00:00") is None
    assert end(hours, "2006-10-29T02:30+00:00") == "2006-10-29T06:00-03:30"
    # It is 23:30 again.
    assert end(hours, "2006-10-29T03:00+00:00") == "2006-10-29T06:00-03:30"


def test_a_zone_that_left_out_a_day():
    """Samoa had no 30 December 2011: the night that began on the 29th ended on the 31st."""
    assert end(wish("22:00", "07:00", "Pacific/Apia"), "2011-12-29T23:00-10:00") == "2011-12-31T07:00+14:00"
    assert end(wish("22:00", "07:00", "Pacific/Apia"), "2011-12-31T03:00+14:00") == "2011-12-31T07:00+14:00"


@pytest.mark.parametrize("zone", ["Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Africa/Casablanca"])
def test_an_end_is_never_quiet_itself_and_lies_within_a_day_and_an_hour(zone: str):
    hours = wish("21:30", "06:15", zone)
    for half_hours in range(2 * 24 * 366):
        at = datetime(2026, 1, 1, tzinfo=UTC) + timedelta(minutes=30 * half_hours)
        found = quiet_until(hours, at)
        wall = at.astimezone(hours.zone).time()
        assert (found is not None) == (wall >= time(21, 30) or wall < time(6, 15)), at
        assert found is None or (quiet_until(hours, found) is None and found - at <= timedelta(hours=9, minutes=45))
