"""The reference itself: its clock, its prior, its sums, and that the stored values come from it."""

import json
import os

import numpy as np
import pytest
from scipy.stats import kstest

from forecast_reference import clock, numbers, prior
from forecast_reference.broods import BROODS
from forecast_reference.evidence import days
from forecast_reference.likelihood import likelihood, pose, summed_likelihood
from forecast_reference.make_values import VALUES, make
from forecast_reference.model import forecast
from forecast_reference.species import BANGGAI
from forecast_reference.truth import STATES, STEPS, course

# The values in full take some minutes, more on a busy machine.
pytestmark = pytest.mark.timeout(900)
PROOF = os.environ.get("HOLDWATCH_PROOF") == "1"
STORED = json.loads(VALUES.read_text())
QUICK_POINTS = 4_000


def test_the_inverse_of_the_clock_undoes_it():
    problem = pose(BROODS["hourly readings with a heat wave"])
    points = prior.draw(problem.prior, np.random.default_rng(1), 1000)
    paces = clock.pace(problem.clock, points[:, prior.LOG_Q10], points[:, prior.OFFSET])
    instants = problem.brood.now + np.random.default_rng(2).uniform(-40, 60, 1000)
    back = clock.instant_of(problem.clock, paces, clock.reading(problem.clock, paces, instants))
    assert np.abs(back - instants).max() < 1e-6


def test_the_clock_at_one_constant_temperature_has_its_closed_form():
    document = BROODS["no readings"]
    problem = pose(document)
    paces = clock.pace(problem.clock, np.log([2.2, 2.4, 2.9]), np.array([0.0, -0.5, 1.0]))
    gone = clock.reading(problem.clock, paces, problem.brood.now) - clock.reading(
        problem.clock, paces, problem.brood.now - 9
    )
    celsius = document["tank"]["set_point_c"] + np.array([0.0, -0.5, 1.0])
    assert np.allclose(gone, 9 * np.array([2.2, 2.4, 2.9]) ** ((celsius - BANGGAI.reference_c) / 10), rtol=2e-6)


def test_degree_days_pass_in_proportion_to_the_warmth_above_their_zero():
    """Kamler 2002: rate = (T - T0) / (Tref - T0)."""
    problem = pose(BROODS["no readings"], clock.DegreeDays(10.0))
    paces = clock.pace(problem.clock, np.log([2.4, 2.4]), np.array([0.0, 0.8]))
    gone = clock.reading(problem.clock, paces, problem.brood.now) - clock.reading(
        problem.clock, paces, problem.brood.now - 9
    )
    assert np.allclose(gone, [9 * 15.0 / 16.5, 9 * 15.8 / 16.5])


@pytest.mark.parametrize("name", ["courtship", "spawn seen and little else"])
def test_the_density_of_the_prior_is_that_of_its_draws(name):
    """Weighting draws of one brood's prior by the ratio of two densities gives the mean of 1 that it must have."""
    problem, rng = pose(BROODS[name]), np.random.default_rng(3)
    points = prior.draw(problem.prior, rng, 200_000)
    spread = points.std(axis=0) * 0.6
    centre = np.median(points, axis=0)
    near = np.exp(-0.5 * ((points - centre) / spread) ** 2) / (spread * np.sqrt(2 * np.pi))
    ratio = np.prod(near, axis=1) / np.exp(prior.log_density(problem.prior, points))
    assert abs(ratio.mean() - 1) < 5 * ratio.std() / np.sqrt(len(ratio))
    assert ratio.std() / np.sqrt(len(ratio)) < 0.05


def test_silver_comes_before_the_hatch_and_its_log_ratio_is_a_cut_normal():
    problem = pose(BROODS["tails seen"])
    ratio = prior.draw(problem.prior, np.random.default_rng(4), 20_000)[:, prior.LOG_RATIO]
    assert ratio.max() < 0
    centre, share = prior.ratio_centre_and_share(BANGGAI)
    quantile = prior.norm.cdf(ratio, centre, BANGGAI.silver_log_spread) / share
    assert kstest(quantile, "uniform").pvalue > 0.001


@pytest.mark.parametrize("name", ["one doubtful normal", "tails seen", "caught with yolk-sac young"])
def test_loss_and_shows_summed_are_loss_and_shows_drawn_many_times(name):
    problem, rng, repeats = pose(BROODS[name]), np.random.default_rng(5), 4_000
    points = np.repeat(prior.draw(problem.prior, rng, 40), repeats, axis=0)
    broods = course(problem.clock, points)
    loss, shows = prior.draw_loss(problem.prior, rng, broods.spawned), rng.random(len(points)) < numbers.SHOWS_CHANCE
    drawn = likelihood(problem.brood, broods, loss, shows).reshape(40, repeats)
    exact = summed_likelihood(problem, broods).reshape(40, repeats)[:, 0]
    assert np.all(np.abs(drawn.mean(axis=1) - exact) < 5 * drawn.std(axis=1) / np.sqrt(repeats) + 1e-3 * exact)


def _assert_near(fresh: dict, stored: dict, days_apart: float, chance_apart: float) -> None:
    for step in STEPS:
        for quantile in ("q25", "q50", "q75"):
            assert abs(days(fresh[step][quantile]) - days(stored[step][quantile])) < days_apart, (step, quantile)
    for state in STATES:
        assert abs(fresh["now"][state] - stored["now"][state]) < chance_apart, state


@pytest.mark.parametrize("name", BROODS)
def test_the_stored_values_come_from_this_model(name):
    """Coarsely from a few points every time, and in full, to the last digits, in the proof."""
    seed = STORED[name]["seed"] + 1000
    print(f"seed {seed}")
    if PROOF:
        _assert_near(make(name), STORED[name], 0.01, 0.001)
    else:
        _assert_near(forecast(BROODS[name], seed, QUICK_POINTS), STORED[name], 0.5, 0.05)


def test_every_stored_value_has_its_hundred_thousand_effective_points():
    assert list(STORED) == list(BROODS)
    assert all(stored["effective_points"] >= 100_000 for stored in STORED.values())
