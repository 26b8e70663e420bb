"""Times by the clock of a tank on the days on which clocks change, in the order of a file."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from holdwatch.services.temperature.local import Place, TankClock

COPENHAGEN = ZoneInfo("Europe/Copenhagen")
# Clocks went back there on 25 October 2026 at 01:00 UTC, and forward on 29 March 2026 at 01:00 UTC (IANA tzdb).
BEFORE_BACK = datetime(2026, 10, 24, 22, tzinfo=UTC)
BEFORE_FORWARD = datetime(2026, 3, 28, 22, tzinfo=UTC)


def instants(texts_or_times, zone=COPENHAGEN, place=None):
    clock = TankClock(zone, place or Place())
    found = [clock.instant_ms(at) for at in texts_or_times]
    return [datetime.fromtimestamp(ms / 1000, UTC) for ms, _ in found], [kind for _, kind in found]


def walls(start: datetime, minutes: int, count: int, zone=COPENHAGEN) -> tuple[list[datetime], list[datetime]]:
    true = [start + timedelta(minutes=minutes * number) for number in range(count)]
    return true, [at.astimezone(zone).replace(tzinfo=None) for at in true]


@pytest.mark.parametrize(
    "zone", ["Europe/Copenhagen", "America/New_York", "Australia/Lord_Howe", "Asia/Kathmandu", "UTC"]
)
@pytest.mark.parametrize("minutes", [1, 7, 10, 30, 60])
@pytest.mark.parametrize("is_falling", [False, True])
def test_a_year_of_readings_gets_its_own_instants_back(zone, minutes, is_falling):
    # Lord Howe Island changes its clocks by half an hour.
    place = ZoneInfo(zone)
    for month, day in ((10, 24), (11, 1), (3, 28), (3, 8), (4, 4)):
        true, wall = walls(datetime(2026, month, day, tzinfo=UTC), minutes, 60 * 60 // minutes, place)
        if is_falling:
            true, wall = true[::-1], wall[::-1]
        assert instants(wall, place)[0] == true


def test_the_hour_that_comes_twice_is_said_to():
    true, wall = walls(BEFORE_BACK, 30, 12)
    found, kinds = instants(wall)
    assert found == true
    assert kinds == ["plain"] * 4 + ["repeated"] * 4 + ["plain"] * 4


def test_where_it_comes_once_the_first_is_taken():
    found, kinds = instants([datetime(2026, 10, 25, 1, 0), datetime(2026, 10, 25, 2, 30), datetime(2026, 10, 25, 3, 0)])
    assert found[1] == datetime(2026, 10, 25, 0, 30, tzinfo=UTC) and kinds == ["plain", "repeated", "plain"]
    assert instants([datetime(2026, 10, 25, 2, 30)])[0] == [datetime(2026, 10, 25, 0, 30, tzinfo=UTC)]


def test_a_pause_before_the_hour_that_comes_twice_misleads_nobody():
    true, wall = walls(BEFORE_BACK, 1, 400)
    paused = [*range(30), *range(130, 400)]
    assert instants([wall[number] for number in paused])[0] == [true[number] for number in paused]


def test_of_two_readings_in_one_minute_the_second_is_no_step_back():
    true, wall = walls(BEFORE_BACK, 1, 400)
    doubled = [at for at in wall for _ in range(2)]
    assert instants(doubled)[0] == [at for at in true for _ in range(2)]


def test_a_time_that_the_clock_skips_takes_the_offset_before_the_change():
    found, kinds = instants([datetime(2026, 3, 29, 1, 59), datetime(2026, 3, 29, 2, 30), datetime(2026, 3, 29, 3, 30)])
    assert found == [
        datetime(2026, 3, 29, 0, 59, tzinfo=UTC), datetime(2026, 3, 29, 1, 30, tzinfo=UTC),
        datetime(2026, 3, 29, 1, 30, tzinfo=UTC),
    ]  # fmt: skip
    assert kinds == ["plain", "skipped", "plain"]


def test_what_has_an_offset_needs_no_clock():
    clock = TankClock(COPENHAGEN, Place())
    assert clock.instant_ms(datetime(2026, 10, 25, 0, 30, tzinfo=UTC)) == (1792888200000, "plain")
    assert clock.place == Place(1792888200000)


@pytest.mark.parametrize("cut", range(1, 24))
def test_a_piece_goes_on_where_the_one_before_it_ended(cut):
    true, wall = walls(BEFORE_BACK, 15, 24)
    clock = TankClock(COPENHAGEN, Place())
    first = [clock.instant_ms(at) for at in wall[:cut]]
    other = TankClock(COPENHAGEN, clock.place)
    found = [ms for ms, _ in [*first, *(other.instant_ms(at) for at in wall[cut:])]]
    assert found == [round(at.timestamp() * 1000) for at in true]
