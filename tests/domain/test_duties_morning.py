"""When a morning's summary is told, over every change of the clocks, and what stands in it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from domain.hold import BROOD, HOUR, local
from holdwatch.domain.duties import Duty
from holdwatch.domain.duties.morning import next_morning, of_the_day

BERLIN = ZoneInfo("Europe/Berlin")
NIGHT = date(2026, 11, 25)
LOOK = Duty(f"look:{BROOD}:2026-11-25", "look_tonight", BROOD, NIGHT, local(25, 22), local(25, 22), local(26, 9))
CATCH = Duty(f"catch:{BROOD}", "catch_tonight", BROOD, NIGHT, local(25, 22, 30), local(25, 18, 30), local(26, 9))


@pytest.mark.parametrize(
    ("zone", "wall", "after", "expected"),
    [
        # IANA's database as zoneinfo has it: clocks in Berlin went forward from 02:00 to 03:00 on 29 March 2026.
        ("Europe/Berlin", "07:30", "2026-03-28T06:30+00:00", "2026-03-29T05:30+00:00"),
        ("Europe/Berlin", "02:30", "2026-03-28T12:00+00:00", "2026-03-29T01:30+00:00"),
        # And back from 03:00 to 02:00 on 25 October 2026: the first of the two.
        ("Europe/Berlin", "02:30", "2026-10-24T12:00+00:00", "2026-10-25T00:30+00:00"),
        ("Europe/Berlin", "07:30", "2026-10-24T05:30+00:00", "2026-10-25T06:30+00:00"),
        # Samoa left out 30 December 2011.
        ("Pacific/Apia", "08:00", "2011-12-29T18:30+00:00", "2011-12-30T18:00+00:00"),
        # Morocco went back to its summer time after Ramadan, on 22 March 2026.
        ("Africa/Casablanca", "08:00", "2026-03-21T08:00+00:00", "2026-03-22T07:00+00:00"),
    ],
)
def test_the_next_morning_is_by_the_clock_of_the_person(zone, wall, after, expected):
    found = next_morning(time.fromisoformat(wall), ZoneInfo(zone), datetime.fromisoformat(after))
    assert found == datetime.fromisoformat(expected) and found.tzinfo is UTC


def test_each_day_of_two_years_has_one_morning():
    at, days = datetime(2026, 1, 1, tzinfo=UTC), []
    while at < datetime(2028, 1, 1, tzinfo=UTC):
        at = next_morning(time(7), BERLIN, at)
        days.append(at.astimezone(BERLIN).date())
    assert days == [date(2026, 1, 1) + timedelta(n) for n in range(len(days))] and len(days) > 700


def test_it_tells_what_is_ones_own_and_everybodys_in_the_order_of_its_time():
    assert of_the_day([CATCH, LOOK], "ada", local(25, 8)) == (LOOK, CATCH)
    taken = replace(CATCH, taken_by="bo")
    assert of_the_day([taken, LOOK], "ada", local(25, 8)) == (LOOK,)
    assert of_the_day([taken, LOOK], "bo", local(25, 8)) == (LOOK, taken)


def test_it_tells_nothing_of_what_is_done_over_or_of_another_day():
    assert of_the_day([replace(LOOK, done_at=local(25, 7))], "ada", local(25, 8)) == ()
    assert of_the_day([LOOK], "ada", local(26, 9)) == ()
    assert of_the_day([LOOK], "ada", LOOK.due_at - 25 * HOUR) == ()


def test_loose_young_are_everybodys_also_where_somebody_has_taken_them():
    loose = replace(LOOK, key=f"loose:{BROOD}:2026-11-25", kind="fry_loose", taken_by="bo")
    assert of_the_day([loose], "ada", local(25, 23)) == (loose,)
