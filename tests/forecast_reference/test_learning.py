"""The reference's learning: limits, closed forms, a second way without its sums, and the stored values."""

import os

import numpy as np
import pytest
from scipy.special import ndtr
from scipy.stats import norm

from forecast_reference import prior
from forecast_reference.evidence import days as instant
from forecast_reference.evidence import read_brood
from forecast_reference.households import HOUSEHOLDS
from forecast_reference.learning import (
    APART,
    NEWCOMER,
    TOGETHER,
    Imprint,
    early_loss_carried,
    early_loss_chance,
    households,
    imprint,
    learned_prior,
)
from forecast_reference.likelihood import pose, summed_likelihood
from forecast_reference.make_learning import make, one_run
from forecast_reference.species import BANGGAI, CLOWNFISH, Species
from forecast_reference.stored import learning_cases
from forecast_reference.truth import STEPS, course

PROOF = os.environ.get("HOLDWATCH_PROOF") == "1"
STORED = learning_cases()

BOOKS, MALE, BROOD = BANGGAI.hatch_log_spreads
CENTRE = float(np.log(BANGGAI.hatch_median_days))
WAYS = pytest.mark.parametrize("way", [TOGETHER, APART])


def _next_days(species: Species, left: list[Imprint], male: str, way: str, seed: int) -> np.ndarray:
    """Draws of ln H and ln D of a male's next brood."""
    rng = np.random.default_rng(seed)
    known = households(species, left, rng, 30_000, way)
    return learned_prior(known, male, 0.15).draw(rng, 100_000)


def _books_draws(seed: int, n: int = 200_000) -> np.ndarray:
    """ln H and ln D of broods of nobody's in particular."""
    rng, kinds = np.random.default_rng(seed), BANGGAI.mouth_time.kinds
    kind = rng.choice(2, n, p=[share for share, _, _ in kinds])
    centre = np.log([median for _, median, _ in kinds])[kind]
    spread = np.hypot(np.array([spread for _, _, spread in kinds])[kind], BANGGAI.mouth_time.own_log_spread())
    return np.column_stack([rng.normal(CENTRE, BANGGAI.hatch_log_spread(), n), rng.normal(centre, spread)])


def _imprint(male: str, days: np.ndarray, chance: np.ndarray) -> Imprint:
    return Imprint(male, days, chance / chance.sum(), 0.0, 0.15, len(days))


@WAYS
def test_without_broods_the_prior_is_the_books(way):
    days = _next_days(BANGGAI, [], "a", way, 1)
    for q in (0.05, 0.5, 0.95):
        by_books = CENTRE + BANGGAI.hatch_log_spread() * norm.ppf(q)
        assert np.quantile(days[:, 0], q) == pytest.approx(by_books, abs=0.003)
        share = np.mean(_books_draws(2)[:, 1] < np.quantile(days[:, 1], q))
        assert share == pytest.approx(q, abs=0.01)


@pytest.mark.parametrize("way, male", [(TOGETHER, "a"), (APART, "a"), (APART, NEWCOMER)])
def test_hatch_days_known_with_an_error_give_the_closed_form_of_three_normals(way, male):
    """Two broods of male a, ln H measured as 2.80 and 2.86 with an error of 0.03, nothing known of D."""
    days, error, measured = _books_draws(3), 0.03, (2.80, 2.86)
    left = [_imprint("a", days, norm.pdf(days[:, 0], m, error)) for m in measured]
    got = _next_days(BANGGAI, left, male, way, 4)
    shared = BOOKS**2 + (MALE**2 if male == "a" else 0.0)
    of_measured = np.full((2, 2), BOOKS**2 + MALE**2) + np.eye(2) * (BROOD**2 + error**2)
    gain = shared * np.ones(2) @ np.linalg.inv(of_measured)
    mean = CENTRE + gain @ (np.array(measured) - CENTRE)
    spread = np.sqrt(BOOKS**2 + MALE**2 + BROOD**2 - gain @ np.full(2, shared))
    assert got[:, 0].mean() == pytest.approx(mean, abs=0.003)
    assert got[:, 0].std() == pytest.approx(spread, abs=0.003)
    assert np.mean(got[:, 1] < np.median(days[:, 1])) == pytest.approx(0.5, abs=0.01)


@WAYS
def test_a_brood_known_to_stay_longer_than_so_many_days_updates_the_kind_by_hand(way):
    """Censored at 6 days: P(long | D > 6) by Bayes over the two kinds; H is left as it was."""
    days = _books_draws(5)
    left = [_imprint("a", days, (days[:, 1] > np.log(6.0)).astype(float))]
    known = households(BANGGAI, left, np.random.default_rng(6), 30_000, way)
    own = BANGGAI.mouth_time.own_log_spread()
    longer = [share * ndtr((np.log(m) - np.log(6.0)) / np.hypot(s, own)) for share, m, s in BANGGAI.mouth_time.kinds]
    assert np.average(known.long_kind, weights=known.weight) == pytest.approx(longer[1] / sum(longer), abs=0.01)
    after = learned_prior(known, "a", 0.15).draw(np.random.default_rng(7), 100_000)[:, 0]
    assert after.mean() == pytest.approx(CENTRE, abs=0.003)
    assert after.std() == pytest.approx(BANGGAI.hatch_log_spread(), abs=0.003)


def test_what_is_learned_from_a_real_brood_is_what_drawing_both_broods_at_once_gives():
    """Household, male and both broods drawn from the prior, weighed by the exactly summed likelihood of the first."""
    finished = HOUSEHOLDS["caught before release"]["household"][0]
    problem, rng, n = pose(finished["brood"]), np.random.default_rng(8), 60_000
    points = prior.draw(problem.prior, rng, n)
    following = np.empty((n, 2))
    books, male, brood = BANGGAI.hatch_log_spreads
    his = rng.normal(CENTRE, books, n) + rng.normal(0, male, n)
    points[:, prior.LOG_HATCH], following[:, 0] = his + rng.normal(0, brood, n), his + rng.normal(0, brood, n)
    time = BANGGAI.mouth_time
    kind = rng.choice(2, n, p=[share for share, _, _ in time.kinds])
    centres, spreads = (np.array([k[i] for k in time.kinds])[kind] for i in (1, 2))
    his = rng.normal(np.log(centres), spreads) + rng.normal(0, time.male_log_spread, n)
    points[:, prior.LOG_MOUTH] = his + rng.normal(0, time.brood_log_spread, n)
    following[:, 1] = his + rng.normal(0, time.brood_log_spread, n)
    weight = summed_likelihood(problem, course(problem.clock, points))
    learned = _next_days(BANGGAI, [imprint(finished, 9, 20_000)], "a", TOGETHER, 10)
    for column in (0, 1):
        for q in (0.1, 0.25, 0.5, 0.75, 0.9):
            below = np.average(following[:, column] < np.quantile(learned[:, column], q), weights=weight)
            assert below == pytest.approx(q, abs=0.02), (column, q)


def test_the_density_of_a_learned_prior_is_that_of_its_draws():
    """Weighting its draws by the ratio of two densities gives the mean of 1 that it must have."""
    finished = HOUSEHOLDS["two males"]["household"][1:3]
    left = [imprint(each, 20 + k, 2_000) for k, each in enumerate(finished)]
    known = households(BANGGAI, left, np.random.default_rng(11), 10_000, TOGETHER)
    learned = learned_prior(known, "b", 0.15)
    days = learned.draw(np.random.default_rng(12), 100_000)
    centre, spread = days.mean(axis=0), 0.7 * days.std(axis=0)
    ratio = np.exp(norm.logpdf(days, centre, spread).sum(axis=1) - learned.log_density(days))
    assert ratio.mean() == pytest.approx(1, abs=5 * ratio.std() / np.sqrt(len(ratio)) + 1e-3)


def _eaten(male: str, chance: float) -> Imprint:
    return Imprint(male, np.zeros((1, 2)), np.ones(1), chance, 0.4, 1.0)


def test_the_chance_of_an_early_loss_is_the_profiles_without_broods_and_counts_his_own():
    brood = read_brood(HOUSEHOLDS["eaten twice"]["next"]["brood"])
    assert early_loss_chance(brood, "a", []) == early_loss_carried(brood, "a", []) == pytest.approx(0.40)
    lost_two = [_eaten("a", 1 - 1e-9), _eaten("a", 1 - 1e-9), _eaten("b", 1 - 1e-9)]
    assert early_loss_chance(brood, "a", lost_two) == pytest.approx(3.6 / 6)
    assert early_loss_carried(brood, "a", lost_two) == pytest.approx(3.6 / 6)
    assert early_loss_chance(brood, "b", [_eaten("b", 0.0)]) == pytest.approx(1.6 / 5)


def test_a_brood_whose_evidence_says_nothing_leaves_the_carried_chance_as_it_was():
    brood = read_brood(HOUSEHOLDS["eaten twice"]["next"]["brood"])
    assert early_loss_carried(brood, "a", [_eaten("a", 0.4)]) == pytest.approx(0.40)


def test_of_a_clownfish_only_the_days_to_the_hatch_are_learned():
    finished = HOUSEHOLDS["clownfish: three nests hatched early"]["household"][0]
    left = [imprint(finished, 13, 5_000)]
    days = _next_days(CLOWNFISH, left, "a", TOGETHER, 14)
    assert days.shape[1] == 1
    assert np.median(days[:, 0]) < np.log(CLOWNFISH.hatch_median_days) - 0.03


@pytest.mark.parametrize("name", HOUSEHOLDS if PROOF else ["caught before release", "eaten twice"])
def test_what_is_stored_of_a_household_comes_from_this_model(name):
    """Coarsely from one small run."""
    household, stored = HOUSEHOLDS[name], STORED[name].values
    left = [imprint(each, 30 + k, 2_000) for k, each in enumerate(household["household"])]
    for way in (TOGETHER, APART):
        fresh, kept = one_run(household, left, way, 31, 8_000)[1], stored[way]
        assert fresh["long_kind"] == pytest.approx(kept["long_kind"], abs=0.05)
        for male, his in kept["males"].items():
            assert fresh["males"][male]["early_loss_chance"] == pytest.approx(his["early_loss_chance"], abs=0.01)
            for days in {"hatch_days", "mouth_days"} & set(his):
                mine, theirs = fresh["males"][male][days]["q50"], his[days]["q50"]
                assert mine == pytest.approx(theirs, rel=0.04), (male, days)


@pytest.mark.parametrize("name", HOUSEHOLDS if PROOF else ["caught before release"])
def test_the_stored_forecast_of_the_next_brood_comes_from_this_model(name):
    """Coarsely from a few points every time, and in full in the proof."""
    effective, apart = (100_000, 0.1) if PROOF else (4_000, 0.5)
    fresh, stored = make(name, effective), STORED[name].values
    for way in (TOGETHER, APART):
        for step in STEPS:
            for quantile in ("q25", "q50", "q75"):
                mine, theirs = (instant(each[way]["next"][step][quantile]) for each in (fresh, stored))
                assert abs(mine - theirs) < apart, (way, step, quantile)


def test_every_stored_value_has_its_hundred_thousand_effective_points():
    assert list(STORED) == list(HOUSEHOLDS)
    for case in STORED.values():
        assert all(each["effective_points"] >= 100_000 for each in case.values["finished"])
        for way in (TOGETHER, APART):
            assert case.values[way]["effective_households"] >= 100_000
            assert case.values[way]["next"]["effective_points"] >= 100_000
