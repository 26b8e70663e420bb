"""Points with what the looks say of them: how possible broods are weighed, however they were drawn."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from holdwatch.domain.clock import days_between
from holdwatch.domain.forecast.evidence import Evidence
from holdwatch.domain.forecast.loss import Fate, Risk, Survival, fate, risk, survival
from holdwatch.domain.forecast.prior import Learned
from holdwatch.domain.forecast.sight import Sight, sights
from holdwatch.domain.forecast.steps import Course, Steps, course, steps
from holdwatch.domain.species import Profile

# Relative to the best point; a likelihood below this has run out of the range of floating point.
LEAST_LOG_LIKELIHOOD = 700.0


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


def effective(weights: np.ndarray) -> float:
    """Return the effective number of points of `weights` that sum to 1 (Kish 1965)."""
    return float(1 / np.sum(weights**2))


def weighted_quantiles(rising: np.ndarray, weights: np.ndarray, levels: Sequence[float]) -> np.ndarray:
    """Return quantiles of values in rising order, by straight lines between the middles of their weights."""
    return np.interp(levels, np.cumsum(weights) - weights / 2, rising)


def weighted_median(rising: np.ndarray, weights: np.ndarray) -> float:
    """Return the median of values in rising order."""
    return float(weighted_quantiles(rising, weights, (0.5,))[0])


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


def weighing(evidence: Evidence, profile: Profile, learned: Learned | None) -> Weighing:
    """Return what all points of a brood are weighed by."""
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
