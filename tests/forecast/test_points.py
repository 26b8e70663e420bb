"""The fixed points: Sobol's own sequence, evenly spread also once scrambled."""

import numpy as np
import pytest
from scipy.stats import chi2, kstest, norm, qmc

from holdwatch.domain.forecast.points import prior_scores, sobol, student_scores, uniform_points


def test_the_sequence_is_that_of_joe_and_kuo_as_scipy_has_it():
    ours = sobol(1024, 8) / 2.0**32
    assert np.array_equal(ours, qmc.Sobol(8, scramble=False).random(1024))


@pytest.mark.parametrize("dimension", range(8))
def test_scrambled_every_axis_still_has_one_point_in_each_equal_slice(dimension):
    points = uniform_points(8192, 8, seed=1)[:, dimension]
    assert np.array_equal(np.sort(np.floor(points * 8192)), np.arange(8192))


def test_scrambled_points_keep_the_even_spread_of_the_sequence():
    plain, scrambled = qmc.discrepancy(sobol(1024, 7) / 2.0**32), qmc.discrepancy(uniform_points(1024, 7, seed=1))
    assert scrambled < 1.5 * plain


def test_the_axes_are_unrelated():
    apart = np.corrcoef(uniform_points(1024, 8, seed=1).T) - np.eye(8)
    assert np.abs(apart).max() < 0.01


def test_scores_are_standard_normal_and_student():
    assert kstest(prior_scores(8192, 7, 1)[:, 3], norm.cdf).statistic < 1e-3
    squared = np.sum(student_scores(8192, 7, 5, 3) ** 2, axis=1) / 7
    assert np.median(squared) == pytest.approx(_f_median(7, 5), rel=0.02)


def _f_median(numerator: int, denominator: int) -> float:
    rng = np.random.default_rng(1)
    top = chi2.ppf(rng.random(400_000), numerator) / numerator
    return float(np.median(top / (chi2.ppf(rng.random(400_000), denominator) / denominator)))
