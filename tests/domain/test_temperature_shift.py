"""How far new readings move the hatch, against closed forms and against the forecast made anew."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from holdwatch.config import load_profiles
from holdwatch.domain.temperature import development_days, hatch_shift_days

PROFILE = load_profiles()["pterapogon_kauderni"]
Q10 = replace(PROFILE.development, clock="q10", q10=2.4, reference_c=27.5)
DEGREE_DAYS = replace(PROFILE.development, clock="degree days", zero_c=14.0, reference_c=27.5)
START = datetime(2026, 11, 1, tzinfo=UTC)


def day(number: float) -> datetime:
    return START + timedelta(days=number)


def test_constant_water_has_the_closed_form():
    for celsius in (24.0, 27.5, 30.0):
        readings = [(day(n / 2), celsius) for n in range(41)]
        by_q10 = 20 * 2.4 ** ((celsius - 27.5) / 10)
        assert development_days(readings, 26, Q10, day(0), day(20)) == pytest.approx(by_q10)
        assert development_days(readings, 26, DEGREE_DAYS, day(0), day(20)) == pytest.approx(20 * (celsius - 14) / 13.5)
    cold = [(day(n / 2), 10.0) for n in range(41)]
    assert development_days(cold, 26, DEGREE_DAYS, day(0), day(20)) == 0


def test_alternating_water_agrees_with_the_worked_value():
    # 6.333 d at 27.5 °C and Q10 2.4: 26 and 30 °C on alternate days take 5.975 d (worked value of the reference notes).
    readings = [(day(n + edge), 26.0 if n % 2 == 0 else 30.0) for n in range(8) for edge in (0.0001, 0.9999)]
    assert development_days(readings, 28, Q10, day(0), day(5.975)) == pytest.approx(6.333, abs=0.02)


def test_three_days_at_the_reference_then_cooler_agrees_with_the_worked_value():
    # 3 d at 27.5 then 24 °C take 7.528 d in all (worked value of the reference notes).
    readings = [(day(n / 8), 27.5 if n < 24 else 24.0) for n in range(73)]
    assert development_days(readings, 26, Q10, day(0), day(7.528)) == pytest.approx(6.333, abs=0.02)


def test_without_readings_it_goes_by_the_set_point():
    assert development_days([], 27.5, Q10, day(0), day(11)) == pytest.approx(11)
    assert development_days([], 27.5, Q10, day(3), day(3)) == 0


def test_a_shift_is_the_change_of_development_at_the_pace_of_the_hatch():
    assert hatch_shift_days(19.0, 19.5, 27.5, Q10) == pytest.approx(-0.5)
    assert hatch_shift_days(19.0, 18.5, 37.5, Q10) == pytest.approx(0.5 / 2.4)
    assert hatch_shift_days(19.0, 19.5, 41.0, DEGREE_DAYS) == pytest.approx(-0.25)
    assert hatch_shift_days(19.0, 19.0, 10.0, DEGREE_DAYS) == 0
    assert hatch_shift_days(19.0, 19.5, 10.0, DEGREE_DAYS) == float("inf")
