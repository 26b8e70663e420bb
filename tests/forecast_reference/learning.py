"""What finished broods teach about the next one of the same household: the reference for the product's learning.

Household, male and brood each move ln H and ln D. The household's centre is Normal about the books for ln H; for ln D
it belongs to one of two kinds and is Normal about that kind's median. A male adds an offset of his own, a brood a
residual; all are Normal. None of the page's bins and points are used:

- A finished brood is weighed by plain Monte Carlo under the books' prior (`chunks`), as any brood. Its draws (h, d),
  weights w, are all it leaves. Divided by the books' density they are its likelihood L(h, d), and
  F(a, b) = sum of w N(h; a, brood) N(d; b, brood) / books(h, d) is its likelihood given a male's own centre (a, b).
- Household centres and males' offsets are drawn from their prior and weighed by the product of F over the broods.
- The next brood's prior is the mixture of these weighted draws, each widened by the brood's spread.

F and the mixture's density are sums over all draws at the knots, a quarter of a brood's spread apart, of a cubic spline
of their logarithm, good to 1e-4.

TOGETHER takes L(h, d) as it is. APART takes L(h) L(d) instead, each with the other summed over the books' prior: the
page's "its likelihood of log H and of log D". Both are stored: how far they lie apart is what the page's choice costs,
and no error of the product.

Where the page is silent, this reference does the following.

Early loss: e is the posterior chance, under the profile's value for that brood, that the instant of loss was drawn from
the early kind, whether before the release or not (after it, it is hardly ever of that kind). A male with n finished
broods, lost ones among them, has (4 p + sum of e) / (4 + n), p being the profile's value for the brood to come. Beside
it `carried` is stored, the mean of the full Beta-Bernoulli posterior, in which e is not counted but stays a chance.
The learned chance applies to the next brood alone: finished broods are weighed with the profile's value, since on the
page their likelihoods rest on the books.

`shows` is a trait of the male in the page's table, but its learning names H, D and the early loss alone: each brood
begins at 0.75 again. So do E, W, Q10 and the thermometer.

A male without finished broods of his own draws his offset from its prior: the newcomer. A brood that was caught,
released or lost is finished. The order of broods does not matter. The next brood's earliest spawn comes from its own
evidence: what ended the male's last brood must stand in it as `not_before`.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.special import beta

from . import numbers, prior
from .axes import Surface, axes, log_smoothed, log_smoothed_together
from .evidence import Brood
from .likelihood import pose
from .sampling import chunks
from .species import Species

TOGETHER, APART = "together", "apart"
NEWCOMER = "newcomer"
DRAWS, MOST_ROUNDS = 40_000, 1_000


@dataclass(frozen=True)
class Imprint:
    """What a finished brood leaves: draws of ln H and ln D (n, axes), weights (n,) and its chance of an early loss."""

    male_id: str
    days: np.ndarray
    weight: np.ndarray
    early_loss: float
    early_loss_prior: float
    effective_points: float


def imprint(finished: dict, seed: int, effective_points: float) -> Imprint:
    """The imprint of one finished brood {"male_id": ..., "brood": ...}."""
    problem, rng = pose(finished["brood"]), np.random.default_rng(seed)
    days, weights, early = [], [], 0.0
    for draws in chunks(problem, rng, effective_points):
        days.append(prior.days_of(problem.brood.species, draws.points))
        weights.append(draws.weight)
        early += draws.weight @ prior.early_share(problem.prior, draws.course.spawned, draws.loss)
    weight = np.concatenate(weights)
    total = weight.sum()
    return Imprint(
        finished["male_id"],
        np.concatenate(days),
        weight / total,
        float(early / total),
        problem.prior.early_loss_chance,
        float(total**2 / (weight**2).sum()),
    )


def log_likelihood(species: Species, left: Imprint, way: str) -> Surface:
    """ln F of one finished brood at places (m, axes)."""
    books = prior.log_books(species, left.days)
    if way == TOGETHER or not species.mouth_time:
        return log_smoothed_together(axes(species), left.days, left.weight / np.exp(books.sum(axis=1)))
    hatch, mouth = (
        log_smoothed(axis, left.days[:, i], left.weight / np.exp(books[:, i])) for i, axis in enumerate(axes(species))
    )
    return lambda places: hatch(places[:, 0]) + mouth(places[:, 1])


@dataclass(frozen=True)
class Households:
    """Weighted draws of a household: kind of D and centre, and each male's own centre (n, axes)."""

    species: Species
    weight: np.ndarray
    long_kind: np.ndarray
    own: dict[str, np.ndarray]

    def effective_points(self) -> float:
        """What the draws are worth."""
        return float(self.weight.sum() ** 2 / (self.weight**2).sum())


def _draw_households(species: Species, rng: np.random.Generator, n: int, males: list[str]) -> Households:
    centre, long_kind = np.empty((n, len(axes(species)))), np.zeros(n, bool)
    own = {male: np.empty_like(centre) for male in males}
    for i, axis in enumerate(axes(species)):
        kind = rng.choice(len(axis.kinds), n, p=[share for share, _, _ in axis.kinds])
        medians, spreads = (np.array([k[column] for k in axis.kinds])[kind] for column in (1, 2))
        centre[:, i] = rng.normal(medians, spreads)
        for male in males:
            own[male][:, i] = centre[:, i] + rng.normal(0, axis.male, n)
        long_kind = kind == 1
    return Households(species, np.ones(n), long_kind, own)


def households(
    species: Species, left: list[Imprint], rng: np.random.Generator, effective_points: float, way: str
) -> Households:
    """Draws of the household given what its finished broods left; ArithmeticError if they never suffice."""
    males = sorted({each.male_id for each in left} | {NEWCOMER})
    surfaces = [(each.male_id, log_likelihood(species, each, way)) for each in left]
    rounds: list[Households] = []
    total = squares = 0.0
    for _ in range(MOST_ROUNDS):
        drawn = _draw_households(species, rng, DRAWS, males)
        log_weight = sum((surface(drawn.own[male]) for male, surface in surfaces), np.zeros(DRAWS))
        rounds.append(Households(species, np.exp(log_weight), drawn.long_kind, drawn.own))
        total, squares = total + rounds[-1].weight.sum(), squares + (rounds[-1].weight ** 2).sum()
        if total**2 >= effective_points * squares:
            return _concatenated(rounds, males)
    raise ArithmeticError(f"only {total**2 / squares:.0f} effective households in {MOST_ROUNDS} rounds")


def _concatenated(rounds: list[Households], males: list[str]) -> Households:
    return Households(
        rounds[0].species,
        np.concatenate([each.weight for each in rounds]),
        np.concatenate([each.long_kind for each in rounds]),
        {male: np.concatenate([each.own[male] for each in rounds]) for male in males},
    )


@dataclass(frozen=True)
class LearnedPrior:
    """The prior of a male's next brood: his own centres (n, axes), their weights, and what density these make."""

    species: Species
    own: np.ndarray
    weight: np.ndarray
    early_loss_chance: float

    @cached_property
    def cumulative(self) -> np.ndarray:
        """The weights of the centres, added up to 1."""
        return np.cumsum(self.weight) / self.weight.sum()

    @cached_property
    def surface(self) -> Surface:
        """The log of the density that the centres and a brood's residual make."""
        return log_smoothed_together(axes(self.species), self.own, self.weight / self.weight.sum())

    def draw(self, rng: np.random.Generator, n: int) -> np.ndarray:
        """ln H and ln D (n, 2), or ln H alone (n, 1)."""
        rows = np.searchsorted(self.cumulative, rng.random(n), side="right")
        spreads = [axis.brood for axis in axes(self.species)]
        return self.own[np.minimum(rows, len(self.own) - 1)] + rng.normal(0, spreads, (n, len(spreads)))

    def log_density(self, days: np.ndarray) -> np.ndarray:
        """Natural log of the density (n,) at ln H and ln D (n, 2)."""
        knots = [axis.knots() for axis in axes(self.species)]
        within = np.all([(d >= k[0]) & (d <= k[-1]) for d, k in zip(days.T, knots, strict=True)], axis=0)
        density = np.full(len(days), -np.inf)
        density[within] = self.surface(days[within])
        return density


def learned_prior(known: Households, male_id: str, early_loss_chance: float) -> LearnedPrior:
    """The prior of the next brood of one of a household's males, or of a newcomer."""
    own = known.own.get(male_id, known.own[NEWCOMER])
    return LearnedPrior(known.species, own, known.weight, early_loss_chance)


def early_loss_chance(brood: Brood, male_id: str, left: list[Imprint]) -> float:
    """A male's chance of an early loss: the profile's value for this brood worth four, and what his own came to."""
    his = [each.early_loss for each in left if each.male_id == male_id]
    worth = numbers.EARLY_LOSS_WORTH_BROODS
    profile = brood.species.early_loss_chance[brood.released_before]
    return (worth * profile + sum(his)) / (worth + len(his))


def early_loss_carried(brood: Brood, male_id: str, left: list[Imprint]) -> float:
    """The mean of the full posterior of a male's chance p: Beta times (p A + (1 - p) B) for each of his broods.

    A / B, how much better an early loss explains a brood, follows from its posterior and prior chances. The product is
    a sum of terms p^j (1 - p)^(n - j), and so the posterior a mixture of Betas.
    """
    profile, worth = brood.species.early_loss_chance[brood.released_before], numbers.EARLY_LOSS_WORTH_BROODS
    share = np.array([1.0])
    for each in left:
        if each.male_id == male_id:
            odds = each.early_loss / (1 - each.early_loss) * (1 - each.early_loss_prior) / each.early_loss_prior
            share = np.append(share, 0.0) + odds * np.append(0.0, share)
    early = np.arange(len(share))
    a, b = worth * profile + early, worth * (1 - profile) + early[::-1]
    share = share * beta(a, b)
    return float(share @ (a / (a + b)) / share.sum())
