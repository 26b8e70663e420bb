"""The tank's temperature as the forecast uses it: what counts, what is left out and why, and a keeper's word on it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from holdwatch.domain.temperature import Gap, Hour, LeftOut, Part, Trust, water_of

NOON = datetime(2026, 11, 20, 12, tzinfo=UTC)
FIRST = (NOON - datetime(1970, 1, 1, tzinfo=UTC)) // timedelta(hours=1)
FAR = NOON - timedelta(days=60)


def at(hours: float) -> datetime:
    return NOON + timedelta(hours=hours)


def part(number: int, celsius: float, n: int = 6, span: float = 0.1) -> Part:
    return Part(n, (FIRST + number) * 3_600_000 + 1_800_000, celsius, celsius - span / 2, celsius + span / 2)


def hour(number: int, celsius: float, spike: Part | None = None) -> Hour:
    return Hour(FIRST + number, part(number, celsius), spike)


def steady(hours: range, celsius: float = 26.0) -> list[Hour]:
    return [hour(number, celsius) for number in hours]


def water(thermometers, *trusts: Trust, now: datetime = NOON + timedelta(days=2), since: datetime = FAR):
    return water_of(thermometers, trusts, since, now)


def said(is_right: bool, since: float | None = None, until: float | None = None, name: str = "hall") -> Trust:
    return Trust(name, None if since is None else at(since), None if until is None else at(until), is_right)


SPIKE = Part(2, (FIRST + 3) * 3_600_000 + 600_000, 32.0, 31.5, 32.5)


def test_each_hour_is_the_mean_of_its_thermometers():
    sump = [hour(1, 27.0), hour(2, 28.0)]
    points = water({"hall": steady(range(3)), "sump": sump}).points
    assert [(point.at, point.celsius) for point in points] == [(at(0.5), 26.0), (at(1.5), 26.5), (at(2.5), 27.0)]


def test_thermometers_that_count_as_their_mean_are_named_and_no_others():
    hall = steady(range(6))
    assert water({"hall": hall, "sump": steady(range(5, 9))}).together == ("hall", "sump")
    assert water({"hall": hall, "sump": steady(range(6, 9))}).together == ()
    # Hours before the beginning, and such as are left out, are in no mean.
    assert water({"hall": hall, "sump": steady(range(5, 9))}, since=at(6)).together == ()
    three = {"hall": hall, "sump": hall, "air": hall}
    assert water(three, said(False, name="air")).together == ("hall", "sump")


def test_spikes_are_told_of_and_the_rest_of_their_hour_is_used():
    hours = [*steady(range(3)), hour(3, 26.0, SPIKE), hour(4, 26.0, SPIKE), *steady(range(5, 9)), hour(9, 26.0, SPIKE)]
    found = water({"hall": hours}, now=at(10))
    assert [point.celsius for point in found.points] == [26.0] * 10
    assert found.left_out == (
        LeftOut("hall", at(3), at(5), "spike", 4, 31.5, 32.5, False),
        LeftOut("hall", at(9), at(10), "spike", 2, 31.5, 32.5, False),
    )


def test_a_keepers_word_brings_spikes_back_where_it_speaks_of_them():
    hours = [hour(2, 26.0), hour(3, 26.0, SPIKE), hour(9, 26.0, SPIKE)]
    found = water({"hall": hours}, said(True, 3, 4))
    assert [point.celsius for point in found.points] == pytest.approx([26.0, 27.5, 26.0])
    assert [one.is_used for one in found.left_out] == [True, False]
    other = water({"hall": hours}, said(True, 3, 4, "sump"))
    assert [point.celsius for point in other.points] == [26.0] * 3


@pytest.mark.parametrize(
    ("since", "until", "used"),
    [(3, 4, [3]), (2.5, 3.5, [2, 3]), (None, 3, [2]), (4, None, [4]), (None, None, [2, 3, 4])],
)
def test_a_word_covers_every_hour_that_it_touches(since, until, used):
    hours = [hour(number, 26.0, SPIKE) for number in (2, 3, 4)]
    found = water({"hall": hours}, said(True, since, until))
    assert [2 + n for n, point in enumerate(found.points) if point.celsius > 26] == used


def test_the_later_word_counts():
    hours = {"hall": [hour(3, 26.0, SPIKE)]}
    assert water(hours, said(True), said(False)).points == ()
    assert [point.celsius for point in water(hours, said(False), said(True)).points] == [27.5]


def test_a_thermometer_that_is_wrong_is_left_out_whole():
    found = water({"hall": steady(range(6)), "old": [hour(n, 31.0, SPIKE) for n in range(6)]}, said(False, name="old"))
    assert [point.celsius for point in found.points] == [26.0] * 6
    (left,) = found.left_out
    assert (left.thermometer, left.why, left.n, left.is_used) == ("old", "wrong", 48, False)
    assert (left.since, left.until, left.low_c, left.high_c) == (at(0), at(6), 30.95, 32.5)


def test_stuck_hours_are_left_out_until_somebody_says_that_they_were_right():
    stuck = [hour(0, 25.0), *(Hour(FIRST + n, part(n, 26.0, span=0), None) for n in range(1, 13)), hour(13, 26.4)]
    sump = [hour(n, 25 + 0.1 * n) for n in range(14)]
    found = water({"hall": stuck, "sump": sump}, now=at(14))
    assert found.left_out == (LeftOut("hall", at(1), at(13), "stuck", 72, 26.0, 26.0, False),)
    assert [point.celsius for point in found.points][5] == pytest.approx(25.5)
    trusted = water({"hall": stuck, "sump": sump}, said(True, 1, 13), now=at(14))
    assert [one.is_used for one in trusted.left_out] == [True]
    assert [point.celsius for point in trusted.points][5] == pytest.approx(25.75)


def test_silence_of_more_than_three_hours_is_a_gap_and_one_may_still_last():
    hours = [*steady(range(2)), *steady(range(5, 7)), *steady(range(8, 9))]
    found = water({"hall": hours}, now=at(9))
    assert found.gaps == (Gap(at(1.5), at(5.5)),)
    assert water({"hall": hours}, now=at(12)).gaps == (Gap(at(1.5), at(5.5)), Gap(at(8.5), None))
    assert water({"hall": [hour(0, 26), hour(3, 26)]}, now=at(4)).gaps == ()
    assert water({}, now=at(9)).gaps == ()


def test_hours_before_the_beginning_only_tell_how_a_thermometer_moves():
    moving = [Hour(FIRST + n, part(n, 26 + (n % 12) / 10, span=0.1), None) for n in range(-120, 0)]
    still = [Hour(FIRST + n, part(n, 26.0, span=0), None) for n in range(30)]
    found = water({"hall": [*moving, *still]}, since=at(0), now=at(30))
    assert found.points == () and found.left_out[0].why == "stuck"
    assert len(water({"hall": still}, since=at(0), now=at(30)).points) == 30


def test_what_lies_after_now_is_not_known_yet():
    assert len(water({"hall": steady(range(6))}, now=at(3)).points) == 3
