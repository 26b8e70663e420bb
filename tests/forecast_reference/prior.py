"""The prior of the seven sampled latents: how to draw from it, and its density."""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr, ndtri
from scipy.stats import norm

from . import numbers
from .clock import offset_spread_c
from .evidence import Brood

# Columns of a matrix of points (n, 7).
SPAWN, LOG_HATCH, LOG_RATIO, LOG_MOUTH, LOG_OUT, LOG_Q10, OFFSET = range(7)
LOG_RATIO_CENTRE = float(np.log(numbers.SILVER_RATIO))
RATIO_SHARE = float(ndtr(-LOG_RATIO_CENTRE / numbers.SILVER_LOG_SPREAD))


@dataclass(frozen=True)
class Spawn:
    """The spawn's prior: Normal(centre, spread) where it was seen, else pieces (start, end, mass) of even density."""

    seen: tuple[float, float] | None
    pieces: np.ndarray


@dataclass(frozen=True)
class Prior:
    """What of the prior differs between broods."""

    spawn: Spawn
    offset_spread_c: float
    early_loss_chance: float


def make_prior(brood: Brood) -> Prior:
    """The prior of one brood."""
    spawn = Spawn(brood.spawn, np.empty((0, 3)) if brood.spawn else _spawn_pieces(brood))
    return Prior(spawn, offset_spread_c(brood), numbers.EARLY_LOSS_CHANCE[brood.released_before])


def _spawn_pieces(brood: Brood) -> np.ndarray:
    """Even over (a, b); each of k courtships has 0.8/k over its 36 h, and the rest is even outside them all."""
    a, b = brood.earliest, brood.latest
    windows = [(max(a, c), min(b, c + numbers.COURTSHIP_DAYS)) for c in brood.courtships]
    windows = [(start, end) for start, end in windows if start < end]
    edges = np.unique([a, b, *(edge for window in windows for edge in window)])
    middle, length = (edges[1:] + edges[:-1]) / 2, np.diff(edges)
    covers = np.array([(start < middle) & (middle < end) for start, end in windows]).reshape(len(windows), len(middle))
    density = numbers.COURTSHIP_CHANCE / numbers.COURTSHIP_DAYS / max(1, len(windows))
    mass = covers.sum(axis=0) * density * length
    outside = np.where(covers.any(axis=0), 0.0, length)
    if outside.any():
        mass = mass + (1 - mass.sum()) * outside / outside.sum()
    return np.column_stack([edges[:-1], edges[1:], mass / mass.sum()])


def _draw_spawn(spawn: Spawn, rng: np.random.Generator, n: int) -> np.ndarray:
    if spawn.seen:
        return rng.normal(*spawn.seen, n)
    start, end, mass = spawn.pieces[rng.choice(len(spawn.pieces), n, p=spawn.pieces[:, 2])].T
    return rng.uniform(start, end)


def _log_spawn(spawn: Spawn, at: np.ndarray) -> np.ndarray:
    if spawn.seen:
        return norm.logpdf(at, *spawn.seen)
    density = sum(np.where((at >= s) & (at < e), mass / (e - s), 0.0) for s, e, mass in spawn.pieces)
    with np.errstate(divide="ignore"):
        return np.log(density)


def _mouth_regimes() -> list[tuple[float, float, float]]:
    """Share, centre and spread of ln D in each regime, household, male and brood together."""
    own = numbers.MOUTH_MALE_BROOD_LOG_SPREAD
    regimes = numbers.MOUTH_REGIMES
    return [(share, float(np.log(median)), float(np.hypot(spread, own))) for share, median, spread in regimes]


def draw(prior: Prior, rng: np.random.Generator, n: int) -> np.ndarray:
    """Points (n, 7) from the prior."""
    (share, short, short_spread), (_, long, long_spread) = _mouth_regimes()
    is_short = rng.random(n) < share
    points = np.empty((n, 7))
    points[:, SPAWN] = _draw_spawn(prior.spawn, rng, n)
    points[:, LOG_HATCH] = rng.normal(np.log(numbers.HATCH_MEDIAN_DAYS), numbers.HATCH_LOG_SPREAD, n)
    points[:, LOG_RATIO] = LOG_RATIO_CENTRE + numbers.SILVER_LOG_SPREAD * ndtri(RATIO_SHARE * rng.random(n))
    points[:, LOG_MOUTH] = rng.normal(np.where(is_short, short, long), np.where(is_short, short_spread, long_spread))
    points[:, LOG_OUT] = rng.normal(np.log(numbers.OUT_MEDIAN_DAYS), numbers.OUT_LOG_SPREAD, n)
    points[:, LOG_Q10] = rng.normal(np.log(numbers.Q10_MEDIAN), numbers.Q10_LOG_SPREAD, n)
    points[:, OFFSET] = rng.normal(0.0, prior.offset_spread_c, n)
    return points


def log_density(prior: Prior, points: np.ndarray) -> np.ndarray:
    """Natural log of the prior's density (n,) at points (n, 7)."""
    ratio = norm.logpdf(points[:, LOG_RATIO], LOG_RATIO_CENTRE, numbers.SILVER_LOG_SPREAD) - np.log(RATIO_SHARE)
    regimes = [np.log(share) + norm.logpdf(points[:, LOG_MOUTH], *regime) for share, *regime in _mouth_regimes()]
    return (
        _log_spawn(prior.spawn, points[:, SPAWN])
        + norm.logpdf(points[:, LOG_HATCH], np.log(numbers.HATCH_MEDIAN_DAYS), numbers.HATCH_LOG_SPREAD)
        + np.where(points[:, LOG_RATIO] < 0, ratio, -np.inf)
        + np.logaddexp(*regimes)
        + norm.logpdf(points[:, LOG_OUT], np.log(numbers.OUT_MEDIAN_DAYS), numbers.OUT_LOG_SPREAD)
        + norm.logpdf(points[:, LOG_Q10], np.log(numbers.Q10_MEDIAN), numbers.Q10_LOG_SPREAD)
        + norm.logpdf(points[:, OFFSET], 0.0, prior.offset_spread_c)
    )


def draw_loss(prior: Prior, rng: np.random.Generator, spawn: np.ndarray) -> np.ndarray:
    """Instants (n,) of a loss by the early or the steady hazard; one on or after the first release is no loss."""
    early = rng.random(len(spawn)) < prior.early_loss_chance
    mean = np.where(early, numbers.EARLY_LOSS_MEAN_DAYS, 1.0 / numbers.LOSS_PER_DAY)
    return spawn + rng.exponential(mean)


def loss_chance(prior: Prior, spawn: np.ndarray, instant: np.ndarray | float) -> np.ndarray:
    """Chance (n,) that the instant of loss is at or before an instant, before asking whether the release came first."""
    gone = np.maximum(0.0, instant - spawn)
    early = -np.expm1(-gone / numbers.EARLY_LOSS_MEAN_DAYS)
    return prior.early_loss_chance * early + (1 - prior.early_loss_chance) * -np.expm1(-gone * numbers.LOSS_PER_DAY)
