"""The development clock against closed forms and published worked values."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from forecast.household import NOW
from holdwatch.domain.clock import HOUR, Clock, clock, thermometer
from holdwatch.domain.species import Development, Profile


def ticking(development: Development, temperature_c: np.ndarray, q10: float = 2.4, offset_c: float = 0.0) -> Clock:
    return clock(development, temperature_c, np.array([q10]), np.array([offset_c]))


def hours_at(*days_at: tuple[float, float]) -> np.ndarray:
    """Return hourly temperatures for pairs of (days, °C), each hour at the temperature of its middle."""
    return np.concatenate([np.full(round(days * 24), celsius) for days, celsius in days_at])


@pytest.fixture
def clownfish(banggai: Profile) -> Development:
    """Reference of the worked values of the reference page, 4.3: 6.333 d at 27.5 °C (152 h, Yasir & Qin 2007)."""
    return replace(banggai.development, reference_c=27.5)


@pytest.mark.parametrize(
    "difference, multiplier",
    [(-4, 1.419), (-3, 1.300), (-2, 1.191), (-1, 1.092), (1, 0.916), (2, 0.839), (3, 0.769), (4, 0.705)],
)
def test_time_multipliers_at_q10_2_4_are_those_computed_from_the_definition(banggai, difference, multiplier):
    development = banggai.development
    at = ticking(development, np.full(2400, development.reference_c + difference))
    assert at.when(np.array([19.0]))[0] / 19 == pytest.approx(multiplier, abs=1e-3)


def test_constant_temperature_has_its_closed_form(banggai):
    at = ticking(banggai.development, np.full(24 * 40, 28.3), q10=2.7, offset_c=0.4)
    rate = 2.7 ** ((28.3 + 0.4 - 26.5) / 10)
    assert at.age_of_all(12.25)[0] == pytest.approx(12.25 * rate, abs=1e-9)
    assert at.when(np.array([19.0]))[0] == pytest.approx(19 / rate, abs=1e-9)


def test_a_brood_at_28_degrees_hatches_after_the_worked_6_062_days(clownfish):
    at = ticking(clownfish, np.full(24 * 10, 28.0))
    assert at.when(np.array([152 / 24]))[0] == pytest.approx(6.062, abs=1e-3)


def test_26_and_30_degrees_on_alternate_days_hatch_after_the_worked_5_975_days(clownfish):
    """The worked value counts whole days; the trapezoid rule rounds each change over one hour: within 0.02 d."""
    at = ticking(clownfish, hours_at(*[(1, 26.0), (1, 30.0)] * 5))
    assert at.when(np.array([152 / 24]))[0] == pytest.approx(5.975, abs=0.02)


def test_three_days_at_27_5_and_then_24_hatch_after_the_worked_7_528_days(clownfish):
    at = ticking(clownfish, hours_at((3, 27.5), (7, 24.0)))
    assert at.when(np.array([152 / 24]))[0] == pytest.approx(7.528, abs=0.02)


@pytest.mark.parametrize(
    "days, warm, other_days, cool, q10",
    [
        (30.5 / 24, 24, 102 / 24, 13, 2.997),  # Kusaka & Tada 2016, Aquac. Sci. 64:289-294
        (9.0, 28, 12.3, 25, 2.833),  # Green & Fisher 2004, J. Exp. Mar. Biol. Ecol. 299:115-132
        (1.0, 30, 2.0, 22, 2.378),  # Mendonca et al. 2019, Zygote
    ],
)
def test_published_pairs_of_times_follow_from_their_q10(banggai, days, warm, other_days, cool, q10):
    at_warm = replace(banggai.development, reference_c=float(warm))
    at = ticking(at_warm, np.full(24 * 30, float(cool)), q10=q10)
    assert at.when(np.array([days]))[0] == pytest.approx(other_days, rel=1e-3)


@pytest.mark.parametrize("celsius, hours", [(15.0, 69.45), (18.0, 50.51), (21.0, 39.69)])
def test_degree_hours_of_pagellus_erythrinus_give_its_published_hours(banggai, celsius, hours):
    """555.6 degree-hours above 7 °C, *Pagellus erythrinus*; form of Kamler 2002, Rev. Fish Biol. Fish. 12:79-103."""
    pagellus = replace(banggai.development, clock="degree days", zero_c=7.0, reference_c=17.0)
    at = ticking(pagellus, np.full(24 * 10, celsius))
    assert at.when(np.array([555.6 / 24 / 10]))[0] * 24 == pytest.approx(hours, abs=0.005)


def test_below_the_zero_of_degree_days_nothing_develops(banggai):
    development = replace(banggai.development, clock="degree days", zero_c=14.0)
    cold = ticking(development, np.full(240, 13.0))
    assert cold.age_of_all(9.0)[0] == 0
    assert cold.when(np.array([1.0]))[0] >= 1e4


def test_degree_days_near_their_zero_follow_each_offset(banggai):
    development = replace(banggai.development, clock="degree days", zero_c=14.0)
    offsets = np.linspace(-2, 2, 41)
    at = clock(development, np.full(240, 14.5), np.full(41, 2.4), offsets)
    assert at.age_of_all(9.0) == pytest.approx(9 * np.maximum(0, 0.5 + offsets) / 12.5, abs=2e-2)


def test_each_point_follows_its_own_q10_and_offset_as_if_integrated_alone(banggai):
    rng = np.random.default_rng(4)
    temperature = 26 + 3 * np.sin(np.arange(24 * 40) * 2 * np.pi / 24) + rng.normal(0, 1, 24 * 40)
    q10, offset = 2.4 * np.exp(0.1 * rng.normal(size=50)), rng.normal(0, 0.7, 50)
    together = clock(banggai.development, temperature, q10, offset).age_of_all(33.3)
    rate = q10[:, None] ** ((temperature + offset[:, None] - 26.5) / 10)
    alone = np.concatenate([np.zeros((50, 1)), np.cumsum((rate[:, 1:] + rate[:, :-1]) / 48, axis=1)], axis=1)
    hour = int(33.3 * 24)
    expected = alone[:, hour] + (33.3 * 24 - hour) * (alone[:, hour + 1] - alone[:, hour])
    assert together == pytest.approx(expected, abs=1e-8)


def test_when_undoes_age(banggai):
    rng = np.random.default_rng(5)
    temperature = 26 + rng.normal(0, 2, 24 * 30)
    at = clock(banggai.development, temperature, 2.4 * np.exp(0.1 * rng.normal(size=200)), np.zeros(200))
    ages = rng.uniform(0, 45, 200)
    assert at.age(at.when(ages)) == pytest.approx(ages, abs=1e-9)


def readings(*pairs: tuple[float, float], set_point: float = 26.0):
    return thermometer([(NOW + timedelta(days=days), celsius) for days, celsius in pairs], set_point, NOW)


def test_between_readings_a_day_apart_the_temperature_is_straight_and_in_a_longer_gap_it_is_the_usual():
    seen = readings((0, 25.0), (1, 27.0), (2.5, 27.0))
    assert seen.at(np.array([0.5])) == pytest.approx([26.0])
    assert seen.at(np.array([-1.0, 1.5, 3.0])) == pytest.approx([27.0] * 3)


def test_without_readings_the_set_point_stands():
    assert readings().at(np.arange(5) * HOUR) == pytest.approx([26.0] * 5)


def test_the_usual_is_the_set_point_plus_the_median_of_the_last_seven_days_that_have_readings():
    days = [0, 1, 2, 30, 31, 32, 33, 34, 35]
    seen = readings(*((day, 20.0 + day) for day in days))
    assert seen.usual_c == pytest.approx(20 + np.median(days[2:]))


def test_coverage_is_the_share_of_time_between_readings_at_most_a_day_apart():
    seen = readings((0, 25.0), (1, 26.0), (3, 26.0), (4, 26.0))
    assert seen.covered(0, 4) == pytest.approx(0.5)
    assert seen.covered(-4, 4) == pytest.approx(0.25)
    assert readings((1, 25.0)).covered(0, 4) == 0
