"""Loss summed exactly: between two looks the likelihood does not change with the instant of loss.

A brood lives on past `u` days from its spawn with chance S(u) = p exp(-u / mean) + (1 - p) exp(-h u); it cannot be
lost once release has begun. Going through the looks in order, `kept` is the chance of the findings so far along the
path on which he holds on, and `lost` the sum over the intervals in which he can have lost them, each with its mass.
Both are kept apart for males who never show their tails and for those who do, and nothing of this is sampled.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from holdwatch.domain.forecast.prior import Learned
from holdwatch.domain.forecast.sight import Glimpse, Sight, chances, glimpses
from holdwatch.domain.forecast.steps import Steps, bounded_exp
from holdwatch.domain.species import Loss, Profile


@dataclass(frozen=True)
class Risk:
    """The chance of early loss of this male with its mean in days, and the hazard per day otherwise."""

    early_chance: float
    early_mean_days: float
    hazard_per_day: float

    def survival(self, days: np.ndarray) -> np.ndarray:
        """Return the chance that a brood is not lost within `days` from its spawn."""
        early = self.early_chance * np.exp(-days / self.early_mean_days)
        return early + (1 - self.early_chance) * np.exp(-self.hazard_per_day * days)


@dataclass(frozen=True)
class Survival:
    """The chance of no loss by any instant for n broods, with the exponentials of their spawns made once.

    exp(-(t - s) / mean) = exp((s - middle) / mean) exp((middle - t) / mean), and so for the hazard.
    """

    risk: Risk
    steps: Steps
    middle: float
    early: np.ndarray
    later: np.ndarray
    at_release: np.ndarray

    def at(self, days: float) -> np.ndarray:
        """Return the chance that each brood is not lost by `days` since the origin, shape (n)."""
        since_early, since_later = self.since(days)
        held = self.early * since_early + self.later * since_later
        until_release = np.where(self.steps.released <= days, self.at_release, held)
        return np.where(self.steps.spawn > days, 1.0, until_release)

    def since(self, days: Any) -> tuple[Any, Any]:
        """Return what an instant has to do with it, for one or many: the factors of `early` and of `later`."""
        apart = self.middle - days
        return bounded_exp(apart / self.risk.early_mean_days), bounded_exp(apart * self.risk.hazard_per_day)


def survival(risk: Risk, steps: Steps, middle: float) -> Survival:
    """Return the chances of no loss of n broods; `middle` is an instant in days near those that will be asked."""
    after = steps.spawn - middle
    return Survival(
        risk=risk,
        steps=steps,
        middle=middle,
        early=risk.early_chance * bounded_exp(after / risk.early_mean_days),
        later=(1 - risk.early_chance) * bounded_exp(after * risk.hazard_per_day),
        at_release=risk.survival(steps.released - steps.spawn),
    )


@dataclass(frozen=True)
class Fate:
    """What all looks say of n broods: log-likelihood `scale` + log(`lost` + `kept` * `survival` after the last look).

    `lost` is the sum over losses before the last look, `kept` the chance of all findings if he held on until then,
    `kept_by_kind` (2, n) its two parts, of a male who never shows tails and of one who does; `glimpses`, `findings`
    and `survivals` are what was made on the way for each look: what there was to see, the chance of what was seen, and
    that of no loss by then.
    """

    lost: np.ndarray
    kept: np.ndarray
    kept_by_kind: np.ndarray
    survival: np.ndarray
    scale: float
    glimpses: tuple[Glimpse, ...]
    findings: tuple[np.ndarray, ...]
    survivals: tuple[np.ndarray, ...]

    def log_likelihood(self) -> np.ndarray:
        """Return the log-likelihood of each point, shape (n)."""
        with np.errstate(divide="ignore"):
            return self.scale + np.log(self.lost + self.kept * self.survival)


def risk(loss: Loss, has_released_before: bool, learned: Learned | None = None) -> Risk:
    """Return the risk of loss of a male: as learned from him, or else by whether he ever brought a brood to release."""
    early = loss.early_chance_experienced if has_released_before else loss.early_chance_first
    early = learned.early_chance if learned else early
    return Risk(early, loss.early_mean_days, loss.hazard_per_day)


def fate(sights: Sequence[Sight], steps: Steps, profile: Profile, survival: Survival) -> Fate:
    """Return what the looks say of each brood, summed over losses and over whether the male shows tails."""
    shown = tuple(glimpses(sights, steps, profile.seen, survival.middle))
    findings = tuple(chances(*pair, profile.seen) for pair in zip(sights, shown, strict=True))
    survivals = tuple(survival.at(sight.at) for sight in sights)
    lost, kept = np.zeros((1, steps.spawn.size)), np.ones((1, steps.spawn.size))
    still, scale = np.ones(steps.spawn.size), 0.0
    for sight, finding, survives in zip(sights, findings, survivals, strict=True):
        lost = (lost + kept * (still - survives)) * sight.empty
        kept, still = kept * finding, survives
        largest = max(lost.max(), kept.max())
        lost, kept, scale = lost / largest, kept / largest, scale + float(np.log(largest))
    shows = kinds_of_male(profile)[:, None]
    by_kind = shows * kept
    return Fate((shows * lost).sum(axis=0), by_kind.sum(axis=0), by_kind, still, scale, shown, findings, survivals)


def kinds_of_male(profile: Profile) -> np.ndarray:
    """Return the chances that he never shows tails and that he does, shape (2)."""
    shown_by = profile.seen.tails.shown_by if profile.seen.tails else 0.0
    return np.array([1 - shown_by, shown_by])

