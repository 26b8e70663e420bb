"""Which forecasts are asked for anew: where the hatch may move by a tenth of a day, and once an hour at most."""

from __future__ import annotations

from datetime import timedelta

import pytest

from holdwatch.records.instants import parse_instant
from holdwatch.services.forecasts import issue_asked
from holdwatch.services.temperature import told_development
from people import Clock
from services.measuring import PROFILES, Water
from services.notebook import Notebook, asked

PROFILE = PROFILES["pterapogon_kauderni"]


@pytest.fixture
def water(engine, notebook: Notebook, clock: Clock) -> Water:
    """A tank kept at 26.5 °C by its thermometer since the brood began, with a forecast made from that."""
    water = Water(engine, notebook, clock, held_days=9)
    water.days(25, 26.5, minutes=60)
    water.watch()
    issue_asked(engine, PROFILES, clock.now())
    assert asked(engine) == set()
    return water


def forecast(water: Water):
    return water.notebook.derived("forecast", water.brood)


def test_a_forecast_keeps_the_development_that_it_was_made_from(water: Water):
    body = forecast(water)
    spawned, hatched = (parse_instant(body[step]["q50"]) for step in ("spawned", "hatched"))
    # At the reference temperature a day is a day.
    assert body["development_days"] == pytest.approx((hatched - spawned) / timedelta(days=1), abs=1e-3)
    assert told_development(body, [], 36.5, PROFILE) == pytest.approx(2.4 * body["development_days"], rel=1e-3)


def test_an_hour_of_the_same_water_asks_for_nothing(water: Water, clock: Clock):
    for _ in range(6):
        clock.move(hours=1)
        water.measure(26.5, clock.now())
        water.watch()
    assert asked(water.engine) == set()


def test_a_forecast_is_asked_for_where_the_hatch_moves_by_a_tenth_of_a_day(water: Water, clock: Clock):
    # Warmer by 1 °C for h hours moves it by h * (2.4 ** 0.1 - 1) / 24 d: a tenth takes 26 hours, by a thermometer
    # that is believed seven hours after the water has changed.
    before = parse_instant(forecast(water)["hatched"]["q50"])
    hours = 0
    while not asked(water.engine):
        hours += 1
        assert hours < 60
        clock.move(hours=1)
        water.measure(27.5, clock.now())
        water.watch()
    assert 24 <= hours <= 28
    issue_asked(water.engine, PROFILES, clock.now())
    moved = (before - parse_instant(forecast(water)["hatched"]["q50"])) / timedelta(days=1)
    assert 0.02 < moved < 0.2


def test_a_flood_asks_at_most_once_an_hour(water: Water, clock: Clock):
    asked_at = []
    for minute in range(0, 240, 5):
        clock.move(minutes=5)
        celsius, since = 36.0 if minute % 10 else 18.0, clock.now() - timedelta(hours=200 - minute / 2)
        water.measure([celsius] * 20, since, minutes=60, name=f"p{minute % 3}", at_once=True)
        water.watch()
        if asked(water.engine):
            asked_at.append(clock.now())
            issue_asked(water.engine, PROFILES, clock.now())
    assert 2 <= len(asked_at) <= 4
    assert all(later - earlier >= timedelta(hours=1) for earlier, later in zip(asked_at, asked_at[1:], strict=False))


@pytest.mark.parametrize("celsius", [24.0, 25.5, 28.0, 30.0])
def test_the_estimate_is_what_the_forecast_made_anew_says(water: Water, clock: Clock, celsius):
    """In the last five days the water was another one all the time, which a second thermometer knew."""
    before = forecast(water)
    clock.move(hours=2)
    water.notebook.write("trust", clock.now(), about=water.tank, thermometer="probe", right=False)
    days = [(clock.now() - timedelta(hours=h), 26.5 if h > 120 else celsius) for h in range(600, 0, -1)]
    water.measure([value for _, value in days], days[0][0], minutes=60, name="true", at_once=True)
    issue_asked(water.engine, PROFILES, clock.now())
    after = forecast(water)
    hatch = parse_instant(before["hatched"]["q50"])
    shift = before["development_days"] - told_development(before, days, 26.5, PROFILE)
    moved = (parse_instant(after["hatched"]["q50"]) - hatch) / timedelta(days=1)
    print(f"{celsius} °C: estimated {shift:+.2f} d of development, moved {moved:+.2f} d")
    assert (shift > 0) == (moved > 0)
    assert abs(moved) <= abs(shift) * 1.3 + 0.05
    assert abs(moved) >= abs(shift) * 0.2


def test_a_brood_that_is_over_or_has_no_forecast_is_not_asked_for(water: Water, clock: Clock):
    water.notebook.edit(water.brood, clock.move(hours=2), ended="lost")
    issue_asked(water.engine, PROFILES, clock.now())
    water.measure([33.0] * 200, clock.now() - timedelta(hours=200), minutes=60, name="hot", at_once=True)
    water.watch()
    assert asked(water.engine) == set()
