"""The prior of the seven sampled latents: how to draw from it, and its density.

Of a species that hatches after dark the place of the days in the mouth holds the wait from lamps-out to the hatch, the
place of the days from first to last young holds nothing, and there is no density: plain draws do.
"""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from scipy.special import ndtr, ndtri
from scipy.stats import norm

from . import numbers
from .clock import offset_spread_c
from .evidence import Brood
from .species import MouthTime, Species

# Columns of a matrix of points (n, 7).
SPAWN, LOG_HATCH, LOG_RATIO, LOG_MOUTH, LOG_OUT, LOG_Q10, OFFSET = range(7)
WAIT = LOG_MOUTH


class Learned(Protocol):
    """What the household's finished broods say of a male's next brood: ln H, and ln D where the species has it."""

    early_loss_chance: float

    def draw(self, rng: np.random.Generator, n: int) -> np.ndarray:
        """ln H and ln D (n, 2), or ln H alone (n, 1)."""

    def log_density(self, days: np.ndarray) -> np.ndarray:
        """Natural log of the density (n,) at ln H and ln D (n, 2)."""


@dataclass(frozen=True)
class Spawn:
    """The spawn's prior: Normal(centre, spread) where it was seen, else pieces (start, end, mass) of even density."""

    seen: tuple[float, float] | None
    pieces: np.ndarray


@dataclass(frozen=True)
class Prior:
    """What of the prior differs between broods."""

    species: Species
    spawn: Spawn
    offset_spread_c: float
    early_loss_chance: float
    learned: Learned | None


def make_prior(brood: Brood, learned: Learned | None = None) -> Prior:
    """The prior of one brood, by the books or as it was learned."""
    spawn = Spawn(brood.spawn, np.empty((0, 3)) if brood.spawn else _spawn_pieces(brood))
    by_profile = brood.species.early_loss_chance[brood.released_before]
    early = learned.early_loss_chance if learned else by_profile
    return Prior(brood.species, spawn, offset_spread_c(brood), early, learned)


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


def _kinds(mouth_time: MouthTime) -> list[tuple[float, float, float]]:
    """Share, centre and spread of ln D of each kind of household; household, male and brood together."""
    own = mouth_time.own_log_spread()
    return [(share, float(np.log(days)), float(np.hypot(spread, own))) for share, days, spread in mouth_time.kinds]


def ratio_centre_and_share(species: Species) -> tuple[float, float]:
    """Centre of ln(E/H) before it is cut at E < H, and the share that the cut leaves."""
    centre = float(np.log(species.silver_ratio))
    return centre, float(ndtr(-centre / species.silver_log_spread))


def _draw_days(prior: Prior, rng: np.random.Generator, n: int) -> np.ndarray:
    """ln H and ln D (n, 2), or ln H alone (n, 1)."""
    species = prior.species
    if prior.learned:
        return prior.learned.draw(rng, n)
    log_hatch = rng.normal(np.log(species.hatch_median_days), species.hatch_log_spread(), n)
    if not species.mouth_time:
        return log_hatch[:, None]
    (share, short, short_spread), (_, long, long_spread) = _kinds(species.mouth_time)
    is_short = rng.random(n) < share
    log_mouth = rng.normal(np.where(is_short, short, long), np.where(is_short, short_spread, long_spread))
    return np.column_stack([log_hatch, log_mouth])


def log_books(species: Species, days: np.ndarray) -> np.ndarray:
    """Natural logs of the books' densities (n, 2) at ln H and ln D (n, 2), or (n, 1) at ln H alone (n, 1)."""
    densities = [norm.logpdf(days[:, 0], np.log(species.hatch_median_days), species.hatch_log_spread())]
    if species.mouth_time:
        kinds = _kinds(species.mouth_time)
        densities.append(np.logaddexp(*(np.log(share) + norm.logpdf(days[:, 1], *kind) for share, *kind in kinds)))
    return np.column_stack(densities)


def days_of(species: Species, points: np.ndarray) -> np.ndarray:
    """ln H and ln D (n, 2) of points, or ln H alone (n, 1) where there is no D."""
    return points[:, [LOG_HATCH, LOG_MOUTH] if species.mouth_time else [LOG_HATCH]]


def draw(prior: Prior, rng: np.random.Generator, n: int) -> np.ndarray:
    """Points (n, 7) from the prior."""
    species = prior.species
    centre, share = ratio_centre_and_share(species)
    days = _draw_days(prior, rng, n)
    points = np.zeros((n, 7))
    points[:, SPAWN] = _draw_spawn(prior.spawn, rng, n)
    points[:, LOG_HATCH] = days[:, 0]
    points[:, LOG_RATIO] = centre + species.silver_log_spread * ndtri(share * rng.random(n))
    if species.mouth_time:
        points[:, LOG_MOUTH] = days[:, 1]
        points[:, LOG_OUT] = rng.normal(np.log(numbers.OUT_MEDIAN_DAYS), numbers.OUT_LOG_SPREAD, n)
    else:
        points[:, WAIT] = rng.uniform(0, numbers.HATCH_AFTER_DARK_DAYS, n)
    points[:, LOG_Q10] = rng.normal(np.log(numbers.Q10_MEDIAN), numbers.Q10_LOG_SPREAD, n)
    points[:, OFFSET] = rng.normal(0.0, prior.offset_spread_c, n)
    return points


def log_density(prior: Prior, points: np.ndarray) -> np.ndarray:
    """Natural log of the prior's density (n,) at points (n, 7)."""
    species = prior.species
    centre, share = ratio_centre_and_share(species)
    ratio = norm.logpdf(points[:, LOG_RATIO], centre, species.silver_log_spread) - np.log(share)
    days = days_of(species, points)
    return (
        _log_spawn(prior.spawn, points[:, SPAWN])
        + (prior.learned.log_density(days) if prior.learned else log_books(species, days).sum(axis=1))
        + np.where(points[:, LOG_RATIO] < 0, ratio, -np.inf)
        + norm.logpdf(points[:, LOG_OUT], np.log(numbers.OUT_MEDIAN_DAYS), numbers.OUT_LOG_SPREAD)
        + norm.logpdf(points[:, LOG_Q10], np.log(numbers.Q10_MEDIAN), numbers.Q10_LOG_SPREAD)
        + norm.logpdf(points[:, OFFSET], 0.0, prior.offset_spread_c)
    )


def draw_loss(prior: Prior, rng: np.random.Generator, spawn: np.ndarray) -> np.ndarray:
    """Instants (n,) of a loss by the early or the steady hazard; one on or after the first release is no loss."""
    early = rng.random(len(spawn)) < prior.early_loss_chance
    mean = np.where(early, numbers.EARLY_LOSS_MEAN_DAYS, 1.0 / prior.species.loss_per_day)
    return spawn + rng.exponential(mean)


def early_share(prior: Prior, spawn: np.ndarray, loss: np.ndarray) -> np.ndarray:
    """Chance (n,) that a loss at an instant is of the early kind: the evidence says no more of its kind than that."""
    gone, chance, per_day = loss - spawn, prior.early_loss_chance, prior.species.loss_per_day
    early = chance * np.exp(-gone / numbers.EARLY_LOSS_MEAN_DAYS) / numbers.EARLY_LOSS_MEAN_DAYS
    return early / (early + (1 - chance) * per_day * np.exp(-per_day * gone))


def loss_chance(prior: Prior, spawn: np.ndarray, instant: np.ndarray | float) -> np.ndarray:
    """Chance (n,) that the instant of loss is at or before an instant, before asking whether the release came first."""
    gone, chance = np.maximum(0.0, instant - spawn), prior.early_loss_chance
    early = -np.expm1(-gone / numbers.EARLY_LOSS_MEAN_DAYS)
    return chance * early + (1 - chance) * -np.expm1(-gone * prior.species.loss_per_day)
