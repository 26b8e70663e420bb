"""Learning from one's own broods: what the finished ones say of the next.

log H and log D of a brood are centre + male + brood: a household has one centre, each of its males one offset, each
brood one residual. A finished brood leaves a `Lesson`: how likely it makes each of 32 bins of equal mass of the
books' prior, the mass of its posterior there over that of the prior. Centre and offsets are summed over on grids of
61 points with one step, so that their sum lies on a grid too and the residual is one fixed matrix. So a brood caught
before release counts as censored, and one clear brood nearly settles to which kind of household this one belongs.

Readings the page leaves open, decided here: H and D are learned apart, each from its own 32 bins; what a lesson says of
an early loss is P(early | all its looks and its ending), and a male's chance of one is (4 p + sum of those) /
(4 + broods), p being the profile's value for what he has shown so far.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import expit, logsumexp, ndtr, ndtri

from holdwatch.domain.forecast.belief import Belief
from holdwatch.domain.forecast.evidence import Evidence
from holdwatch.domain.forecast.loss import Risk, fate, risk, survival
from holdwatch.domain.forecast.prior import HATCH, MOUTH, Learned, LogTable, hatch_spread, mouth_time_table
from holdwatch.domain.forecast.sample import weighted_median
from holdwatch.domain.species import MouthTime, Profile

BINS = 32
CENTRES = 61
# How far the grid of centres reaches beyond the books' medians, in their spreads.
REACH = 4.5
WORTH_BROODS = 4.0
TABLE = 801
TABLE_REACH = 8.0
NEGLIGIBLE = 1e-9
LEAST_LIKELIHOOD = 1e-300


@dataclass(frozen=True)
class Lesson:
    """What one finished brood says: likelihoods of the bins of log H and log D, and its chance of an early loss.

    `mouth` is empty where the young are let go at hatching; `lost` says that it was told to be lost. `hatch_days` and
    `mouth_days` are the medians of this brood's own H and D, in reference days, for people to read.
    """

    brood: str
    male: str
    hatch: tuple[float, ...]
    mouth: tuple[float, ...]
    early: float
    hatch_days: float
    mouth_days: float | None
    lost: bool


@dataclass(frozen=True)
class Scale:
    """One quantity on the log scale: what a household's centre may be, and how males and broods differ from it.

    `centres` (61) in even steps with their `mass`; `edges` (33) of the bins, the outer ones infinite.
    """

    centres: np.ndarray
    mass: np.ndarray
    male_spread: float
    brood_spread: float
    edges: np.ndarray

    @property
    def step(self) -> float:
        """The distance between neighbouring centres."""
        return float(self.centres[1] - self.centres[0])

    @property
    def offsets(self) -> np.ndarray:
        """What a male may differ by, in the steps of the centres, shape (61)."""
        return self.step * (np.arange(CENTRES) - CENTRES // 2)

    @property
    def sums(self) -> np.ndarray:
        """Every centre plus offset, shape (121)."""
        return self.centres[0] + self.offsets[0] + self.step * np.arange(2 * CENTRES - 1)


def lesson(brood: str, male: str, belief: Belief, evidence: Evidence, profile: Profile) -> Lesson:
    """Return what a finished brood says, from a `belief` that had learned nothing from any other."""
    return Lesson(
        brood=brood,
        male=male,
        hatch=_likelihood(belief.scores[:, HATCH], belief.weights),
        mouth=_likelihood(belief.scores[:, MOUTH], belief.weights) if profile.mouth else (),
        early=_chance_of_early_loss(belief, risk(profile.loss, evidence.has_released_before), profile),
        hatch_days=_median(belief.steps.hatch_age, belief.weights),
        mouth_days=_median(belief.steps.mouth_age, belief.weights) if profile.mouth else None,
        lost=evidence.ending is not None and evidence.ending.how == "lost",
    )


def _median(values: np.ndarray, weights: np.ndarray) -> float:
    order = np.argsort(values, kind="stable")
    return weighted_median(values[order], weights[order])


def _likelihood(scores: np.ndarray, weights: np.ndarray) -> tuple[float, ...]:
    """Return the posterior mass over the prior mass of bins of equal prior mass, shape (32)."""
    bins = np.minimum((ndtr(scores) * BINS).astype(np.intp), BINS - 1)
    mass: list[float] = np.bincount(bins, weights, minlength=BINS).tolist()
    return tuple(BINS * share for share in mass)


def _chance_of_early_loss(belief: Belief, his: Risk, profile: Profile) -> float:
    """Return the chance that this brood was one of those lost early: the likelihood is linear in the chance of it."""
    early = np.log(his.early_chance) + _log_likelihood(belief, replace(his, early_chance=1.0), profile)
    later = np.log1p(-his.early_chance) + _log_likelihood(belief, replace(his, early_chance=0.0), profile)
    return float(expit(early - later))


def _log_likelihood(belief: Belief, his: Risk, profile: Profile) -> float:
    told = fate(belief.sights, belief.steps, profile, survival(his, belief.steps, belief.survival.middle))
    return float(logsumexp(told.log_likelihood(), b=belief.ratio))


def learned(
    lessons: Iterable[Lesson], male: str, has_released_before: bool, profile: Profile, binned_by: Profile | None = None
) -> Learned | None:
    """Return what the next brood of `male` starts from; None if nothing has been learned.

    `binned_by` is the profile by which the bins of the lessons were made, where that is another one.
    """
    lessons = sorted(lessons, key=lambda one: (one.male, one.brood))
    if not lessons:
        return None
    own = [one for one in lessons if one.male == male]
    before = risk(profile.loss, has_released_before).early_chance
    books = binned_by or profile
    hatch = replace(hatch_scale(profile), edges=hatch_scale(books).edges)
    mouth = None
    if profile.mouth and books.mouth:
        mouth = replace(mouth_scale(profile.mouth), edges=mouth_scale(books.mouth).edges)
    return Learned(
        hatch=_next(hatch, _by_male(lessons, "hatch"), male),
        mouth=_next(mouth, _by_male(lessons, "mouth"), male) if mouth else None,
        early_chance=(WORTH_BROODS * before + sum(one.early for one in own)) / (WORTH_BROODS + len(own)),
        broods=len(lessons),
        own_broods=len(own),
    )


def _by_male(lessons: Iterable[Lesson], quantity: str) -> dict[str, list[np.ndarray]]:
    by_male: dict[str, list[np.ndarray]] = {}
    for one in lessons:
        by_male.setdefault(one.male, []).append(np.array(getattr(one, quantity)))
    return by_male


def hatch_scale(profile: Profile) -> Scale:
    """Return the scale of log H: one centre, told by the books."""
    development = profile.development
    middle, books = np.log(development.hatch_days), development.hatch_spread_books
    centres = middle + books * np.linspace(-REACH, REACH, CENTRES)
    edges = middle + hatch_spread(development) * ndtri(np.arange(BINS + 1) / BINS)
    mass = _normal_mass(centres, float(middle), books)
    return Scale(centres, mass / mass.sum(), development.hatch_spread_male, development.hatch_spread_brood, edges)


def mouth_scale(mouth: MouthTime) -> Scale:
    """Return the scale of log D: a household is of one of the kinds that the sources tell of."""
    kinds = [(float(np.log(kind.days)), kind.days_spread, kind.share) for kind in mouth.kinds]
    centres = np.linspace(
        min(middle - REACH * spread for middle, spread, _ in kinds),
        max(middle + REACH * spread for middle, spread, _ in kinds),
        CENTRES,
    )
    mass = np.sum([share * _normal_mass(centres, middle, spread) for middle, spread, share in kinds], axis=0)
    table = mouth_time_table(mouth)
    edges = np.interp(ndtri(np.arange(BINS + 1) / BINS), table.scores, table.logs, left=-np.inf, right=np.inf)
    return Scale(centres, mass / mass.sum(), mouth.spread_male, mouth.spread_brood, edges)


def _normal_mass(at: np.ndarray, middle: float, spread: float) -> np.ndarray:
    return np.exp(-0.5 * ((at - middle) / spread) ** 2) / spread


def _next(scale: Scale, by_male: dict[str, list[np.ndarray]], male: str) -> LogTable:
    """Return the quantile function of the next brood of `male`."""
    within = np.diff(ndtr((scale.edges - scale.sums[:, None]) / scale.brood_spread), axis=1)
    offsets = _normal_mass(scale.offsets, 0.0, scale.male_spread)
    offsets /= offsets.sum()
    his = _given_male(by_male.get(male, []), within) * offsets
    others = (_given_male(broods, within) * offsets for name, broods in by_male.items() if name != male)
    joint = his * (scale.mass * _given_all(one.sum(axis=1) for one in others))[:, None]
    weights = np.bincount(_places().ravel(), joint.ravel(), minlength=2 * CENTRES - 1)
    return _table(scale, weights / weights.sum())


def _given_all(males: Iterable[np.ndarray]) -> np.ndarray:
    """Return how likely the broods of several males are for each centre, the likeliest 1, shape (61).

    Summed in logs: a product over a hundred males that disagree runs out of the range of floating point.
    """
    logs = sum((np.log(np.maximum(one, LEAST_LIKELIHOOD)) for one in males), np.zeros(CENTRES))
    likelihood: np.ndarray = np.exp(logs - logs.max())
    return likelihood


def _given_male(broods: Sequence[np.ndarray], within: np.ndarray) -> np.ndarray:
    """Return how likely one male's broods are for each centre and offset, the likeliest 1, shape (61, 61)."""
    if not broods:
        return np.ones((CENTRES, CENTRES))
    by_sum = np.log(np.maximum(within @ np.stack(broods, axis=1), LEAST_LIKELIHOOD)).sum(axis=1)
    likelihood: np.ndarray = np.exp(by_sum - by_sum.max())[_places()]
    return likelihood


def _places() -> np.ndarray:
    """Return where on the grid of sums each centre plus offset lies, shape (61, 61)."""
    return np.add.outer(np.arange(CENTRES), np.arange(CENTRES))


def _table(scale: Scale, weights: np.ndarray) -> LogTable:
    """Return the mixture of the brood's residual around each sum, as a quantile function."""
    used = weights > NEGLIGIBLE
    middles, weights = scale.sums[used], weights[used] / weights[used].sum()
    reach = TABLE_REACH * scale.brood_spread
    logs = np.linspace(middles[0] - reach, middles[-1] + reach, TABLE)
    standard = (logs[:, None] - middles) / scale.brood_spread
    below, above = ndtr(standard) @ weights, ndtr(-standard) @ weights
    return LogTable(np.where(below < 0.5, ndtri(below), -ndtri(above)), logs)
