"""Where the points are drawn: from the prior, and where too few of those count, from a fit to them.

8,192 points of the prior are weighed by their likelihood. Where too few of them are effective, the points are drawn
anew from one Student-t fitted to the weighted ones and from the prior, and weighed against that mixture.

Three things are done otherwise than first written down, because broods with many looks in daylight leave ten
effective points of 8,192. A Student-t fitted to so few is a poor guide (to fewer than eight its covariance is
singular), so the fit is made with the likelihood raised to the greatest power up to 1 that leaves 100 effective
points. Such a fit is tried with 2,560 points and fitted again, up to four times, before the 10,240 that count are
drawn from it: more fits than two, for less work than one of full size. And a quarter of the prior's points goes
ahead to tell whether the rest is worth weighing. Refinement begins under 3,000 effective points instead of 2,000: at
2,100 the median of the first release still wandered by 0.04 d from one set of points to the next.
"""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from scipy.special import gammaln

from holdwatch.domain.forecast.points import prior_scores, student_scores
from holdwatch.domain.forecast.prior import LATENTS
from holdwatch.domain.forecast.sample import Sample, effective

POINTS, PRIOR_POINTS = 8192, 2048
PILOT_POINTS = POINTS // 4
PRIOR_SHARE = 0.2
FREEDOM = 5
WIDENING = 1.2
ENOUGH_EFFECTIVE = 3000
FITS = 4
GOOD_FIT_SHARE = 0.25
ENOUGH_FOR_A_FIT = 100
FIRST_SEED = 1


class Draw(NamedTuple):
    """How many points are drawn from the prior and from a Student-t, and the seeds of their Sobol sets."""

    prior_points: int
    student_points: int
    prior_seed: int
    student_seed: int


FINAL = Draw(PRIOR_POINTS, POINTS, prior_seed=2, student_seed=3)
TRIAL = Draw(PRIOR_POINTS // 4, POINTS // 4, prior_seed=4, student_seed=5)


def drawn_and_weighed(sampled: Callable[[np.ndarray, np.ndarray], Sample]) -> Sample:
    """Return points of the prior if enough of them are effective, else points of a fit to them."""
    scores = prior_scores(POINTS, LATENTS, FIRST_SEED)
    sample = sampled(scores[:PILOT_POINTS], np.zeros(PILOT_POINTS))
    if sample.effective() * POINTS >= ENOUGH_EFFECTIVE * PILOT_POINTS:
        sample = sampled(scores, np.zeros(POINTS))
    if sample.points == POINTS and sample.effective() >= ENOUGH_EFFECTIVE:
        return sample
    for _ in range(FITS):
        sample = sampled(*_refined(sample, TRIAL))
        if sample.effective() >= GOOD_FIT_SHARE * sample.points:
            break
    return sampled(*_refined(sample, FINAL))


def _refined(sample: Sample, draw: Draw) -> tuple[np.ndarray, np.ndarray]:
    """Return new scores, from the prior and a Student-t fitted to the sample, with the log of prior over mixture."""
    weights = _weights_for_a_fit(sample)
    mean = np.sum(weights[:, None] * sample.scores, axis=0)
    apart = sample.scores - mean
    root = np.linalg.cholesky(WIDENING * np.einsum("n,ni,nj->ij", weights, apart, apart, optimize=False))
    drawn = mean + student_scores(draw.student_points, LATENTS, FREEDOM, draw.student_seed) @ root.T
    scores = np.concatenate([prior_scores(draw.prior_points, LATENTS, draw.prior_seed), drawn])
    log_prior = _log_normal(scores)
    log_student = _log_student(np.linalg.solve(root, (scores - mean).T), root)
    mixture = np.logaddexp(np.log(PRIOR_SHARE) + log_prior, np.log(1 - PRIOR_SHARE) + log_student)
    return scores, log_prior - mixture


def _weights_for_a_fit(sample: Sample) -> np.ndarray:
    """Return the weights at the greatest power of the likelihood, to 2^-12, that leaves enough effective points."""
    if sample.effective() >= ENOUGH_FOR_A_FIT:
        return sample.weights()
    power = 0.0
    for halving in range(1, 13):
        if effective(sample.tempered(power + 0.5**halving)) >= ENOUGH_FOR_A_FIT:
            power += 0.5**halving
    return sample.tempered(power)


def _log_normal(scores: np.ndarray) -> np.ndarray:
    return -0.5 * (np.sum(scores**2, axis=1) + scores.shape[1] * np.log(2 * np.pi))


def _log_student(standard: np.ndarray, root: np.ndarray) -> np.ndarray:
    """Return the log density of the multivariate Student-t at points already divided by its `root`, (d, n) to (n)."""
    d, freedom = standard.shape[0], FREEDOM
    norm = gammaln((freedom + d) / 2) - gammaln(freedom / 2) - d / 2 * np.log(freedom * np.pi)
    spread = np.sum(np.log(np.diag(root)))
    return norm - spread - (freedom + d) / 2 * np.log1p(np.sum(standard**2, axis=0) / freedom)
