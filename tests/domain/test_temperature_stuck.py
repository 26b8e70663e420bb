"""Thermometers that stay the same for longer than their steps explain, and those that only seem to."""

from __future__ import annotations

import math

import pytest

from holdwatch.domain.temperature import Hour, Part, Run, stuck_runs

FIRST = 490_000 // 24 * 24
DAY = 24


def hour(number: int, low: float, high: float | None = None, n: int = 6) -> Hour:
    high = low if high is None else high
    return Hour(FIRST + number, Part(n, (FIRST + number) * 3_600_000, (low + high) / 2, low, high), None)


def swinging(hours: range, step: float = 0.1, swing: float = 0.6) -> list[Hour]:
    """A day's rise and fall, in steps of the thermometer."""
    true = [26 + swing / 2 * math.sin(number / DAY * 2 * math.pi) for number in [*hours, hours.stop]]
    shown = [round(celsius / step) * step for celsius in true]
    pairs = zip(hours, shown, shown[1:], strict=False)
    return [hour(number, min(a, b), max(a, b)) for number, a, b in pairs]


def flat(hours: range, celsius: float = 26.0) -> list[Hour]:
    return [hour(number, celsius) for number in hours]


def runs(**thermometers: list[Hour]) -> dict[str, list[tuple[int, int]]]:
    found = stuck_runs(thermometers)
    return {name: [(run.first - FIRST, run.last - FIRST) for run in of_one] for name, of_one in found.items()}


@pytest.mark.parametrize(("lasts", "expected"), [(23, []), (24, [(120, 143)]), (80, [(120, 199)])])
def test_alone_it_takes_a_day_without_the_usual_movement(lasts, expected):
    hours = swinging(range(120)) + flat(range(120, 120 + lasts)) + swinging(range(120 + lasts, 320))
    assert runs(hall=hours)["hall"] == expected


def test_a_thermometer_in_whole_degrees_says_the_same_for_weeks_and_is_believed():
    before, after = (swinging(hours, step=1.0, swing=1.2) for hours in (range(240), range(600, 700)))
    hours = before + flat(range(240, 600)) + after
    assert runs(hall=hours)["hall"] == []


def test_water_that_never_moves_has_no_usual_movement_to_miss():
    assert runs(hall=flat(range(400)))["hall"] == []
    assert runs(hall=swinging(range(48)) + flat(range(48, 200)))["hall"] == []


@pytest.mark.parametrize(("lasts", "expected"), [(5, []), (6, [(10, 15)]), (12, [(10, 21)])])
def test_beside_another_that_moves_it_takes_six_hours(lasts, expected):
    stuck = [hour(number, 25.8, 26.1) for number in range(10)] + flat(range(10, 10 + lasts)) + [hour(60, 26.3, 26.4)]
    rising = [hour(number, 25 + number * 0.11, 25.1 + number * 0.11) for number in range(70)]
    found = runs(hall=stuck, sump=rising)
    assert found == {"hall": expected, "sump": []}


def test_beside_another_that_moves_less_than_three_of_its_steps_it_is_believed():
    coarse = [hour(0, 25.0, 25.5), *flat(range(1, 20)), hour(20, 26.5)]
    moving = [hour(number, 25.6, 25.6 + 0.07 * number) for number in range(21)]
    assert runs(hall=coarse, sump=moving)["hall"] == []
    fine = [hour(0, 25.8, 25.9), *flat(range(1, 20)), hour(20, 26.1)]
    assert runs(hall=fine, sump=moving)["hall"] == [(1, 19)]
    little = [hour(number, 25.6, 25.6 + 0.02 * number) for number in range(21)]
    assert runs(hall=fine, sump=little)["hall"] == []


def test_a_pause_or_another_value_breaks_the_run():
    rising = [hour(number, 25 + number * 0.2, 25.2 + number * 0.2) for number in range(40)]
    paused = [hour(0, 25, 25.1), *flat(range(1, 6)), *flat(range(12, 17))]
    assert runs(hall=paused, sump=rising)["hall"] == []
    bridged = [hour(0, 25, 25.1), *flat(range(1, 6)), *flat(range(11, 17))]
    assert runs(hall=bridged, sump=rising)["hall"] == [(1, 16)]
    changed = [hour(0, 25, 25.1), *flat(range(1, 6)), *flat(range(6, 11), 26.1)]
    assert runs(hall=changed, sump=rising)["hall"] == []


def test_few_readings_are_no_run():
    rising = [hour(number, 25 + number * 0.2, 25.2 + number * 0.2) for number in range(40)]
    sparse = [hour(0, 25, 25.1), *(hour(number, 26.0) for number in (2, 8, 14, 20))]
    assert runs(hall=sparse, sump=rising)["hall"] == []


def test_a_run_keeps_its_value_and_a_spike_does_not_break_it():
    hours = swinging(range(120)) + flat(range(120, 160)) + swinging(range(160, 200))
    spike = Part(1, 0, 33.0, 33.0, 33.0)
    hours[130] = Hour(hours[130].number, hours[130].passed, spike)
    hours[131] = Hour(hours[131].number, None, spike)
    assert stuck_runs({"hall": hours})["hall"] == (Run(FIRST + 120, FIRST + 159, 26.0),)
