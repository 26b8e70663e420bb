"""Loss summed exactly: between two looks the likelihood does not change with the instant of loss.

A brood lives on past `u` days from its spawn with chance S(u) = p exp(-u / mean) + (1 - p) exp(-h u); it cannot be
lost once release has begun. Going through the looks in order, `kept` is the chance of the findings so far along the
path on which he holds on, and `lost` the sum over the intervals in which he can have lost them, each with its mass.
Both are kept apart for males who never show their tails and for those who do, and nothing of this is sampled.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from holdwatch.domain.forecast.sight import Sight, chances
from holdwatch.domain.forecast.steps import Steps
from holdwatch.domain.species import Loss, Profile


@dataclass(frozen=True)
class Risk:
    """The chance of early loss of this male with its mean in days, and the hazard per day otherwise."""

    early_chance: float
    early_mean_days: float
    hazard_per_day: float

    def survival(self, at: float, steps: Steps) -> np.ndarray:
        """Return the chance that each brood is not lost by `at` days, shape (n)."""
        days = np.maximum(0, np.minimum(at, steps.released) - steps.spawn)
        early = self.early_chance * np.exp(-days / self.early_mean_days)
        return early + (1 - self.early_chance) * np.exp(-self.hazard_per_day * days)


@dataclass(frozen=True)
class Fate:
    """What all looks say of n broods: log-likelihood `scale` + log(`lost` + `kept` * `survival` after the last look).

    `lost` is the sum over losses before the last look, `kept` the chance of all findings if he held on until then;
    `findings` and `survivals` are the chances of each look's findings and of no loss by then, which were made on the
    way.
    """

    lost: np.ndarray
    kept: np.ndarray
    survival: np.ndarray
    scale: float
    findings: tuple[np.ndarray, ...]
    survivals: tuple[np.ndarray, ...]

    def log_likelihood(self) -> np.ndarray:
        """Return the log-likelihood of each point, shape (n)."""
        with np.errstate(divide="ignore"):
            return self.scale + np.log(self.lost + self.kept * self.survival)


def risk(loss: Loss, has_released_before: bool) -> Risk:
    """Return the risk of loss of a male by whether he has ever brought a brood to release."""
    early = loss.early_chance_experienced if has_released_before else loss.early_chance_first
    return Risk(early, loss.early_mean_days, loss.hazard_per_day)


def fate(sights: Sequence[Sight], steps: Steps, profile: Profile, risk: Risk) -> Fate:
    """Return what the looks say of each brood, summed over losses and over whether the male shows tails."""
    findings = tuple(chances(sight, steps, profile.seen) for sight in sights)
    survivals = tuple(risk.survival(sight.at, steps) for sight in sights)
    lost, kept = np.zeros((1, steps.spawn.size)), np.ones((1, steps.spawn.size))
    survival, scale = np.ones(steps.spawn.size), 0.0
    for sight, finding, survives in zip(sights, findings, survivals, strict=True):
        lost = (lost + kept * (survival - survives)) * sight.empty()
        kept, survival = kept * finding, survives
        largest = max(lost.max(), kept.max())
        lost, kept, scale = lost / largest, kept / largest, scale + float(np.log(largest))
    shows = kinds_of_male(profile)
    return Fate(_mixed(lost, shows), _mixed(kept, shows), survival, scale, findings, survivals)


def kinds_of_male(profile: Profile) -> np.ndarray:
    """Return the chances that he never shows tails and that he does, shape (2)."""
    return np.array([1 - profile.shows.chance, profile.shows.chance])


def _mixed(values: np.ndarray, shows: np.ndarray) -> np.ndarray:
    """Return the sum over both kinds of male; one row means that no tails were asked."""
    return shows @ values if len(values) == 2 else values[0]
