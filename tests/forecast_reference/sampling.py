"""Weighted points from the posterior of one brood: plain draws from the prior or from a defensive mixture with it."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy.stats import multivariate_t

from . import numbers, prior
from .likelihood import Problem, likelihood
from .truth import Course, course

CHUNK, CHUNK_SHARE = 100_000, 5
PRIOR_SHARE = 0.2
DEGREES_OF_FREEDOM = 5
WIDENING = 1.3


@dataclass(frozen=True)
class Tail:
    """The Student t part of the proposal: its centre (7,) and shape (7, 7)."""

    centre: np.ndarray
    shape: np.ndarray

    def draw(self, rng: np.random.Generator, n: int) -> np.ndarray:
        """Points (n, 7)."""
        return multivariate_t.rvs(self.centre, self.shape, DEGREES_OF_FREEDOM, n, rng)

    def density(self, points: np.ndarray) -> np.ndarray:
        """Density (n,) at points (n, 7)."""
        return multivariate_t.pdf(points, self.centre, self.shape, DEGREES_OF_FREEDOM)


@dataclass(frozen=True)
class Draws:
    """Weighted draws: points (n, 7), their courses, losses, shows and weights (n,)."""

    points: np.ndarray
    course: Course
    loss: np.ndarray
    shows: np.ndarray
    weight: np.ndarray


def _draw_points(
    problem: Problem, rng: np.random.Generator, n: int, tail: Tail | None
) -> tuple[np.ndarray, np.ndarray]:
    """Points (n, 7) of the proposal and the ratio (n,) of the prior's density to the proposal's."""
    if tail is None:
        return prior.draw(problem.prior, rng, n), np.ones(n)
    from_prior = int(PRIOR_SHARE * n)
    points = np.concatenate([prior.draw(problem.prior, rng, from_prior), tail.draw(rng, n - from_prior)])
    density = np.exp(prior.log_density(problem.prior, points))
    return points, density / (PRIOR_SHARE * density + (1 - PRIOR_SHARE) * tail.density(points))


def draw(problem: Problem, rng: np.random.Generator, n: int, tail: Tail | None = None) -> Draws:
    """A chunk of n weighted draws; loss and shows are sampled from their prior."""
    points, ratio = _draw_points(problem, rng, n, tail)
    usable = ratio > 0
    points, ratio = points[usable], ratio[usable]
    broods = course(problem.clock, points)
    loss = prior.draw_loss(problem.prior, rng, broods.spawned)
    shows = rng.random(len(loss)) < numbers.SHOWS_CHANCE
    return Draws(points, broods, loss, shows, ratio * likelihood(problem.brood, broods, loss, shows))


def fit_tail(draws: Draws) -> Tail:
    """A Student t with the weighted mean and the widened weighted covariance of some draws."""
    mean = np.average(draws.points, axis=0, weights=draws.weight)
    spread = np.cov(draws.points.T, aweights=draws.weight) * WIDENING
    return Tail(mean, spread + 1e-10 * np.eye(len(mean)))


def find_proposal(problem: Problem, rng: np.random.Generator, n: int) -> Tail | None:
    """The t part of the proposal, fitted to a chunk from the prior and then twice to a chunk of its own mixture.

    A species that hatches after dark has none: its few looks are well served by draws from the prior.
    """
    tail = None
    if problem.brood.species.hatches_after_dark():
        return tail
    for _ in range(3):
        tail = fit_tail(draw(problem, rng, n, tail))
    return tail


def chunks(
    problem: Problem, rng: np.random.Generator, effective_points: float, most_chunks: int = 600
) -> Iterator[Draws]:
    """Chunks of draws until they hold the effective points (sum w)^2 / (sum w^2); ArithmeticError if they never do."""
    n = int(min(CHUNK, CHUNK_SHARE * effective_points))
    tail = find_proposal(problem, rng, n)
    total = squares = 0.0
    for _ in range(most_chunks):
        draws = draw(problem, rng, n, tail)
        total, squares = total + draws.weight.sum(), squares + (draws.weight**2).sum()
        yield draws
        if total**2 >= effective_points * squares:
            return
    raise ArithmeticError(f"only {total**2 / squares:.0f} effective points in {most_chunks} chunks")
