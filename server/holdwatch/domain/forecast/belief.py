"""What is believed of one brood: weighted points, by quasi-Monte-Carlo importance sampling with refinement.

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
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import NamedTuple

import numpy as np
from scipy.special import gammaln

from holdwatch.domain.clock import days_between
from holdwatch.domain.forecast.evidence import Evidence
from holdwatch.domain.forecast.loss import Fate, Risk, Survival, fate, risk, survival
from holdwatch.domain.forecast.points import prior_scores, student_scores
from holdwatch.domain.forecast.prior import LATENTS, Learned
from holdwatch.domain.forecast.sight import Sight, sights
from holdwatch.domain.forecast.steps import Course, Steps, course, steps
from holdwatch.domain.species import Profile

POINTS, PRIOR_POINTS = 8192, 2048
PILOT_POINTS = POINTS // 4
PRIOR_SHARE = 0.2
FREEDOM = 5
WIDENING = 1.2
ENOUGH_EFFECTIVE = 3000
ROUGH_BELOW = 2000
FITS = 4
GOOD_FIT_SHARE = 0.25
ENOUGH_FOR_A_FIT = 100
KEPT_BYTES = 16 * 2**20
# Relative to the best point; a likelihood below this has run out of the range of floating point.
LEAST_LOG_LIKELIHOOD = 700.0
FIRST_SEED = 1


class Draw(NamedTuple):
    """How many points are drawn from the prior and from a Student-t, and the seeds of their Sobol sets."""

    prior_points: int
    student_points: int
    prior_seed: int
    student_seed: int


FINAL = Draw(PRIOR_POINTS, POINTS, prior_seed=2, student_seed=3)
TRIAL = Draw(PRIOR_POINTS // 4, POINTS // 4, prior_seed=4, student_seed=5)


@dataclass(frozen=True)
class Sample:
    """Points with what the looks say of them: scores (n, 7), log of prior over proposal density, steps and fate."""

    scores: np.ndarray
    log_ratio: np.ndarray
    steps: Steps
    survival: Survival
    fate: Fate

    @property
    def points(self) -> int:
        """The number of points."""
        return self.log_ratio.size

    def weights(self) -> np.ndarray:
        """Return the weights of the points, summing to 1."""
        return self.tempered(1.0)

    def effective(self) -> float:
        """Return the effective number of points."""
        return effective(self.weights())

    def tempered(self, power: float) -> np.ndarray:
        """Return the weights with the likelihood raised to `power`, summing to 1."""
        log_likelihood = self.fate.log_likelihood()
        floor = log_likelihood.max() - LEAST_LOG_LIKELIHOOD
        log_weights = self.log_ratio + power * np.maximum(log_likelihood, floor)
        weights = np.exp(log_weights - log_weights.max())
        return weights / weights.sum()


@dataclass(frozen=True)
class Belief:
    """Weighted points: steps in days since `origin`, their `weights`, and the chance of loss within each point.

    `scores` (n, 7) are the latents as normal scores, `ratio` (n) the prior over the density they were drawn from.
    """

    origin: datetime
    scores: np.ndarray
    weights: np.ndarray
    steps: Steps
    fate: Fate
    survival: Survival
    sights: tuple[Sight, ...]
    ratio: np.ndarray

    @property
    def points(self) -> int:
        """The number of points."""
        return self.weights.size

    @property
    def effective_points(self) -> float:
        """The effective number of points, 1 / sum of squared weights."""
        return effective(self.weights)

    @property
    def rough(self) -> bool:
        """Whether too few points are effective for the figures to be trusted to the last digit."""
        return self.effective_points < ROUGH_BELOW

    @property
    def spawn(self) -> np.ndarray:
        """Days from the origin to the spawn, shape (n)."""
        return self.steps.spawn

    @property
    def silver(self) -> np.ndarray:
        """Days from the origin to silver, shape (n)."""
        return self.steps.silver

    @property
    def hatch(self) -> np.ndarray:
        """Days from the origin to hatching, shape (n)."""
        return self.steps.hatch

    @property
    def released(self) -> np.ndarray:
        """Days from the origin to the first young let go, as if no loss, shape (n)."""
        return self.steps.released

    @property
    def released_last(self) -> np.ndarray:
        """Days from the origin to the last young let go, as if no loss, shape (n)."""
        return self.steps.released_last

    def chance_before(self, step: str, instant: datetime) -> float:
        """Return the chance that `step` (spawn, silver, hatch, released, released_last) came before `instant`."""
        days = getattr(self.steps, step)
        return float(np.sum(self.weights[days < days_between(self.origin, instant)]))

    @cached_property
    def _kept_so_far(self) -> np.ndarray:
        """The chance that each brood was not lost by the last look, over that of no loss until then without looks."""
        likelihood = self.fate.lost + self.fate.kept * self.fate.survival
        return np.divide(self.fate.kept, likelihood, out=np.zeros_like(likelihood), where=likelihood > 0)

    def kept(self, at: float) -> np.ndarray:
        """Return for each point the chance that it is not lost by `at` days, not before the last look, shape (n)."""
        return self._kept_so_far * self.survival.at(at)

    @property
    def kept_to_release(self) -> np.ndarray:
        """The chance for each point that it is not lost before the first young are let go, shape (n)."""
        return self._kept_so_far * self.survival.at_release

    def kept_by_kind(self, at: float) -> np.ndarray:
        """Return that chance in its two parts: of a male who never shows tails, of one who does, shape (2, n)."""
        share = np.divide(
            self.fate.kept_by_kind,
            self.fate.kept,
            out=np.zeros_like(self.fate.kept_by_kind),
            where=self.fate.kept > 0,
        )
        return share * self.kept(at)


def effective(weights: np.ndarray) -> float:
    """Return the effective number of points of `weights` that sum to 1 (Kish 1965)."""
    return float(1 / np.sum(weights**2))


def believe(evidence: Evidence, profile: Profile, learned: Learned | None = None) -> Belief:
    """Return the weighted points of the brood that `evidence` tells of, starting from the books or what was learned."""
    _keep_freed_memory()
    weighing = _weighing(evidence, profile, learned)
    return _belief(weighing, _weighed(weighing.sampled))


def weighed_anew(
    belief: Belief, evidence: Evidence, profile: Profile, learned: Learned | None = None
) -> Belief:
    """Return a belief's points weighed again by another profile, or other evidence.

    The points are scores of the prior's quantile functions, so they remain points of any other prior as well; they
    are fewer where they fit less well, which is enough to see whether a number matters.
    """
    weighing = _weighing(evidence, profile, learned)
    return _belief(weighing, weighing.sampled(belief.scores, np.log(belief.ratio)))


@dataclass(frozen=True)
class Weighing:
    """What is the same for every point: the course, what was seen, how broods are lost, and where they start from."""

    evidence: Evidence
    profile: Profile
    learned: Learned | None
    course: Course
    seen: tuple[Sight, ...]
    chances: Risk
    middle: float

    def sampled(self, scores: np.ndarray, log_ratio: np.ndarray) -> Sample:
        """Return points at these scores, weighed by the looks."""
        stepped = steps(scores, self.evidence, self.profile, self.course, self.learned)
        surviving = survival(self.chances, stepped, self.middle)
        return Sample(scores, log_ratio, stepped, surviving, fate(self.seen, stepped, self.profile, surviving))


def _weighing(evidence: Evidence, profile: Profile, learned: Learned | None) -> Weighing:
    ahead = course(evidence, profile)
    return Weighing(
        evidence=evidence,
        profile=profile,
        learned=learned,
        course=ahead,
        seen=sights(evidence, profile, ahead),
        chances=risk(profile.loss, evidence.has_released_before, learned),
        middle=days_between(ahead.origin, evidence.end()),
    )


def _weighed(sampled: Callable[[np.ndarray, np.ndarray], Sample]) -> Sample:
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


def _keep_freed_memory() -> None:
    """Let the C library keep the memory of one forecast for the next, instead of handing it back at once.

    A pass makes some hundred arrays of 64 to 160 kB. glibc gives back freed memory beyond twice the largest block it
    has seen freed (mallopt(3), M_TRIM_THRESHOLD), and getting it again page by page would take as long as the
    arithmetic. This block is never touched, so it costs address space for an instant and nothing else.
    """
    np.empty(KEPT_BYTES, dtype=np.uint8)


def _belief(weighing: Weighing, sample: Sample) -> Belief:
    return Belief(
        origin=weighing.course.origin,
        scores=sample.scores,
        weights=sample.weights(),
        steps=sample.steps,
        fate=sample.fate,
        survival=sample.survival,
        sights=weighing.seen,
        ratio=np.exp(sample.log_ratio),
    )


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
