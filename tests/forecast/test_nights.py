"""Nights in local time: around midnight, on both change days, and the rule that chooses one."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from forecast.household import NOW, tank
from holdwatch.domain.catch import Night, Prospect, catch_instant, lamps_out_instant, nights_ahead, recommended
from holdwatch.domain.forecast import Catch, forecast, to_json
from holdwatch.domain.looks import Look

BERLIN = ZoneInfo("Europe/Berlin")


def first_night(now: str, out: str = "22:00", on: str = "08:00", zone: ZoneInfo = BERLIN) -> Night:
    nights = nights_ahead(datetime.fromisoformat(now), zone, time.fromisoformat(out), time.fromisoformat(on))
    assert len(nights) == 21
    return nights[0]


@pytest.mark.parametrize(
    "now, night, at",
    [
        ("2026-05-10T23:59:00+02:00", "2026-05-10", "2026-05-10T23:59:00+02:00"),
        ("2026-05-11T00:01:00+02:00", "2026-05-10", "2026-05-11T00:01:00+02:00"),
        ("2026-05-11T03:00:00+02:00", "2026-05-10", "2026-05-11T03:00:00+02:00"),
        ("2026-05-11T07:59:00+02:00", "2026-05-10", "2026-05-11T07:59:00+02:00"),
        ("2026-05-11T08:00:00+02:00", "2026-05-11", "2026-05-11T23:00:00+02:00"),
        ("2026-05-11T22:30:00+02:00", "2026-05-11", "2026-05-11T23:00:00+02:00"),
    ],
)
def test_the_first_night_is_the_one_whose_lamps_on_is_still_to_come(now, night, at):
    first = first_night(now)
    assert (first.date, first.at) == (date.fromisoformat(night), datetime.fromisoformat(at))


@pytest.mark.parametrize("out, clock", [("23:59", "00:59"), ("00:01", "01:01"), ("03:00", "04:00")])
def test_lamps_out_around_midnight_belong_to_the_evening_before(out, clock):
    at = catch_instant(date(2026, 5, 10), BERLIN, time.fromisoformat(out))
    assert at.astimezone(BERLIN).isoformat() == f"2026-05-11T{clock}:00+02:00"


def test_a_local_time_that_does_not_exist_takes_the_offset_before_the_change():
    """In Berlin 2026-03-29 jumps from 02:00 to 03:00: 02:30 at the old +01:00 is 01:30 UTC."""
    out = lamps_out_instant(date(2026, 3, 28), BERLIN, time(2, 30))
    assert out == datetime(2026, 3, 29, 1, 30, tzinfo=UTC)


def test_of_a_local_time_that_exists_twice_the_first_counts():
    """In Berlin 2026-10-25 falls back from 03:00 to 02:00: the first 02:30 is at +02:00, 00:30 UTC."""
    out = lamps_out_instant(date(2026, 10, 24), BERLIN, time(2, 30))
    assert out == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    "evening, out, at",
    [
        ("2026-03-28", "01:30", "2026-03-29T03:30:00+02:00"),
        ("2026-10-24", "01:30", "2026-10-25T02:30:00+02:00"),
        ("2026-10-24", "02:30", "2026-10-25T02:30:00+01:00"),
    ],
)
def test_the_hour_of_dark_is_an_elapsed_hour_on_change_days(evening, out, at):
    found = catch_instant(date.fromisoformat(evening), BERLIN, time.fromisoformat(out))
    assert found == datetime.fromisoformat(at)


@pytest.mark.parametrize("zone", ["Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Asia/Tokyo"])
@pytest.mark.parametrize("start", [date(2026, 3, 1), date(2026, 10, 1)])
@pytest.mark.parametrize("out, on", [("22:00", "08:00"), ("00:30", "09:00"), ("14:00", "02:30")])
def test_the_nights_follow_one_another_without_gap_whatever_the_clocks_do(zone, start, out, on):
    now = datetime.combine(start, time(15), tzinfo=ZoneInfo(zone))
    for hours in range(0, 24 * 40, 7):
        later = now.astimezone(UTC) + timedelta(hours=hours)
        nights = nights_ahead(later, ZoneInfo(zone), time.fromisoformat(out), time.fromisoformat(on))
        assert all(b.date - a.date == timedelta(days=1) for a, b in zip(nights, nights[1:], strict=False))
        assert nights[0].at >= later and nights[1].at > later
        assert timedelta(hours=21) < nights[2].at - nights[1].at < timedelta(hours=27)


def prospects(*saved: float, with_him: float = 0.5) -> list[Prospect]:
    return [Prospect(Night(date(2026, 3, 20 + n), NOW), share, with_him) for n, share in enumerate(saved)]


def test_the_greatest_wins_and_within_half_a_hundredth_the_earlier():
    assert recommended(prospects(0.50, 0.60, 0.55)).night.date == date(2026, 3, 21)
    assert recommended(prospects(0.596, 0.60)).night.date == date(2026, 3, 20)
    assert recommended(prospects(0.594, 0.60)).night.date == date(2026, 3, 21)


def test_an_announced_night_changes_only_for_a_gain_of_a_hundredth():
    announced = date(2026, 3, 22)
    assert recommended(prospects(0.50, 0.609, 0.60), announced).night.date == announced
    assert recommended(prospects(0.50, 0.611, 0.60), announced).night.date == date(2026, 3, 21)
    assert recommended(prospects(0.50, 0.60), date(2026, 3, 1)).night.date == date(2026, 3, 21)


def test_nothing_left_with_him_on_any_night_is_no_night():
    assert recommended(prospects(0.10, 0.10, with_him=0.019)) is None
    assert recommended(prospects(0.10, 0.10, with_him=0.021)) is not None


def test_a_brood_long_released_has_no_night_and_a_caught_one_no_table(banggai, brood):
    full = [Look(f"{n}", NOW - timedelta(days=40 - n * 4), "daylight", mouth="full") for n in range(6)]
    thin = [Look(f"{n}", NOW - timedelta(days=40 - n * 4), "daylight", "normal", food="ate") for n in range(6, 10)]
    looks = (*full, *thin)
    told = forecast(brood(looks=looks), banggai)
    assert told.catch is None and len(told.nights) == 21
    caught = forecast(brood(looks=looks[:6], catch=Catch(NOW - timedelta(days=15), 0, 25, 0)), banggai)
    assert caught.nights == () and caught.grid == () and caught.catch is None
    assert caught.now.held_young > 0.95


def test_each_night_says_what_one_earlier_or_later_costs_and_its_chances_sum_to_one(banggai, brood, held_evenings):
    told = to_json(forecast(brood(looks=held_evenings), banggai))
    assert told["catch"]["night"] in [night["night"] for night in told["nights"]]
    for row in [*told["nights"], *told["grid"]]:
        chances = [row[state] for state in ("eggs", "eyed", "held_young", "releasing", "released", "lost")]
        assert sum(chances) == pytest.approx(1, abs=1e-9)
    assert len(told["grid"]) == 57 and len(told["nights"]) == 21


def test_fry_let_go_where_he_sits_alone_are_worth_more(banggai, brood, held_evenings):
    among = forecast(brood(looks=held_evenings), banggai)
    alone = forecast(brood(looks=held_evenings, tank=tank(company="alone")), banggai)
    assert alone.nights[10].saved > among.nights[10].saved + 0.3
    assert alone.nights[0].saved == pytest.approx(among.nights[0].saved, abs=0.05)


@pytest.mark.parametrize("change", ["2026-03-28T20:00:00+01:00", "2026-10-24T20:00:00+02:00"])
def test_a_change_of_the_clocks_moves_local_hours_but_no_instant(banggai, brood, held_evenings, change):
    now = datetime.fromisoformat(change)
    moved = tuple(replace(look, at=look.at + (now - NOW)) for look in held_evenings)
    offset = now.utcoffset() // timedelta(hours=1)
    berlin = forecast(brood(now=now, looks=moved, tank=tank(zone="Europe/Berlin")), banggai)
    fixed = forecast(brood(now=now, looks=moved, tank=tank(zone=f"Etc/GMT{-offset:+d}")), banggai)
    assert berlin.hatched == fixed.hatched and berlin.released == fixed.released and berlin.now == fixed.now
    assert berlin.nights[0].at == fixed.nights[0].at
    hours = (berlin.nights[2].at - fixed.nights[2].at) / timedelta(hours=1)
    assert hours == (-1 if now.month == 3 else 1)
