"""The prior against its own formulas: lognormals, the cut, the mixture of two kinds of household, the spawn."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from scipy.stats import lognorm, norm

from forecast.household import NOW
from holdwatch.domain.forecast import Spawn, believe, forecast
from holdwatch.domain.forecast.answers import LEVELS, quantiles
from holdwatch.domain.forecast.points import prior_scores
from holdwatch.domain.forecast.prior import latents
from holdwatch.domain.looks import Look

SCORES = prior_scores(8192, 7, 1)
HATCH_SPREAD = np.sqrt(0.06**2 + 0.05**2 + 0.06**2)


def test_with_only_a_seen_spawn_the_hatch_has_the_quantiles_of_its_lognormal(banggai, brood):
    """Check 1 of the forecast: constant reference temperature, a sure thermometer, to 0.02 d."""
    sure = replace(banggai, development=replace(banggai.development, thermometer_spread_unread_c=1e-9))
    belief = believe(brood(spawn=Spawn(NOW - timedelta(days=3), 1)), sure)
    days = [(at - NOW) / timedelta(days=1) + 3 for at in quantiles(belief, "hatch")]
    assert days == pytest.approx(lognorm.ppf(LEVELS, HATCH_SPREAD, scale=19.0), abs=0.02)


def test_with_only_a_seen_spawn_the_age_at_hatching_has_those_quantiles_whatever_the_thermometer(banggai, brood):
    belief = believe(brood(spawn=Spawn(NOW - timedelta(days=3), 60)), banggai)
    age = np.sort(belief.steps.clock.age(belief.hatch) - belief.steps.spawn_age)
    assert np.quantile(age, LEVELS) == pytest.approx(lognorm.ppf(LEVELS, HATCH_SPREAD, scale=19.0), abs=0.02)


def test_silver_comes_before_hatching_by_a_cut_lognormal_share(banggai, brood):
    of = latents(SCORES, brood(), banggai, 0.7)
    share = np.sort(of.silver_age / of.hatch_age)
    assert share[-1] < 1
    cut = norm.cdf(-np.log(0.75) / 0.10)
    expected = np.exp(np.log(0.75) + 0.10 * norm.ppf(np.array(LEVELS) * cut))
    assert np.quantile(share, LEVELS) == pytest.approx(expected, abs=1e-3)


def test_the_time_in_the_mouth_is_of_two_kinds_of_household(banggai, brood):
    """Sugama 2008: 3 to 4 d; Vagelli 1999: about 10 d; weighed 3 to 1, times male and brood factors."""
    own = np.hypot(0.15, 0.20)
    days = np.array([2.0, 3.5, 5.0, 7.0, 9.5, 14.0])
    short = norm.cdf(np.log(days / 3.5) / np.hypot(0.35, own))
    long = norm.cdf(np.log(days / 9.5) / np.hypot(0.20, own))
    mouth = latents(SCORES, brood(), banggai, 0.7).mouth_age
    assert np.mean(mouth[:, None] <= days, axis=0) == pytest.approx(0.75 * short + 0.25 * long, abs=1e-3)


def spawn_days(evidence, profile) -> np.ndarray:
    """Return the spawns of the prior in days before `NOW`."""
    belief = believe(evidence, profile)
    return (NOW - belief.origin) / timedelta(days=1) - belief.spawn


def test_an_unseen_spawn_is_uniform_between_its_bounds(banggai, brood):
    bounds = {"not_before": NOW - timedelta(days=8), "not_after": NOW - timedelta(days=3)}
    days = spawn_days(brood(**bounds), banggai)
    assert np.quantile(days, [0, 0.2, 0.5, 1]) == pytest.approx([3, 4, 5.5, 8], abs=1e-2)


@pytest.mark.parametrize("seen", [{"mouth": "full"}, {"eggs": "orange"}, {"tails": "seen"}])
def test_the_first_sure_sign_bounds_an_unseen_spawn_to_thirty_days_before_it(banggai, brood, seen):
    looks = (
        Look("hint", NOW - timedelta(days=12), "red", mouth="smaller", tails="perhaps"),
        Look("sign", NOW - timedelta(days=5), "daylight", **seen),
    )
    assert believe(brood(looks=looks), banggai).origin == NOW - timedelta(days=35)


def test_a_look_never_cuts_the_prior_of_the_spawn(banggai, brood):
    looks = (Look("a", NOW - timedelta(days=5), "red", mouth="full"),)
    days = spawn_days(brood(looks=looks, not_before=NOW - timedelta(days=20)), banggai)
    assert days.min() < 0.1


def test_a_courtship_raises_the_density_of_the_36_hours_after_it_to_four_fifths(banggai, brood):
    courted = brood(not_before=NOW - timedelta(days=10), courtship=(NOW - timedelta(days=6),))
    days = spawn_days(courted, banggai)
    inside = (days > 4.5) & (days <= 6)
    assert inside.mean() == pytest.approx(0.8, abs=1e-3)
    assert np.mean(days > 6) == pytest.approx(0.2 * 4 / 8.5, abs=1e-3)


def test_what_of_a_courtship_lies_outside_the_bounds_is_left_to_the_rest(banggai, brood):
    courted = brood(not_before=NOW - timedelta(days=10), courtship=(NOW - timedelta(hours=9),))
    assert np.mean(spawn_days(courted, banggai) < 9 / 24) == pytest.approx(0.2, abs=1e-3)


def test_two_courtships_share_the_density_of_one(banggai, brood):
    both = (NOW - timedelta(days=6), NOW - timedelta(days=3))
    days = spawn_days(brood(not_before=NOW - timedelta(days=10), courtship=both), banggai)
    assert np.mean((days > 4.5) & (days <= 6)) == pytest.approx(0.4, abs=1e-3)
    assert np.mean((days > 1.5) & (days <= 3)) == pytest.approx(0.4, abs=1e-3)


def test_the_thermometer_is_trusted_more_when_half_of_the_hours_are_read(banggai, brood, hourly_readings):
    read = believe(brood(readings=hourly_readings, not_before=NOW - timedelta(days=20)), banggai)
    unread = believe(brood(readings=hourly_readings[:200], not_before=NOW - timedelta(days=20)), banggai)
    hatch = [np.std(np.log(b.hatch - b.spawn)) for b in (read, unread)]
    assert hatch == pytest.approx([np.hypot(HATCH_SPREAD, s * np.log(2.4) / 10) for s in (0.3, 0.7)], abs=0.004)


def test_a_look_dated_years_ago_by_mistake_leaves_the_forecast_standing_and_is_named(banggai, brood, held_evenings):
    typo = Look("of another year", NOW.replace(year=2016), "daylight", mouth="full", tails="seen", eggs="silver")
    told = forecast(brood(looks=(typo, *held_evenings)), banggai)
    assert told.conflict is not None and told.conflict.look == "of another year"
    plain = forecast(brood(looks=held_evenings), banggai)
    assert abs(told.hatched.q50 - plain.hatched.q50) < timedelta(hours=6)


def test_no_hold_is_looked_for_more_than_four_hundred_days_back(banggai, brood, held_evenings):
    wide = brood(looks=held_evenings, not_before=NOW - timedelta(days=3000), not_after=NOW + timedelta(days=60_000))
    assert sum(forecast(wide, banggai).now) == pytest.approx(1)
    assert believe(wide, banggai).origin == NOW - timedelta(days=400)
