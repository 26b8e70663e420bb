"""What is believed of one brood: weighted points, by quasi-Monte-Carlo importance sampling with refinement."""

from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

import numpy as np

from holdwatch.domain.forecast.evidence import Evidence
from holdwatch.domain.forecast.loss import Fate, Survival
from holdwatch.domain.forecast.prior import Learned
from holdwatch.domain.forecast.refining import drawn_and_weighed
from holdwatch.domain.forecast.sample import Sample, Weighing, effective, weighing
from holdwatch.domain.forecast.sight import Sight
from holdwatch.domain.forecast.steps import Steps
from holdwatch.domain.species import Profile

ROUGH_BELOW = 2000
KEPT_BYTES = 16 * 2**20


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
    def hatch(self) -> np.ndarray:
        """Days from the origin to hatching, shape (n)."""
        return self.steps.hatch

    @property
    def released(self) -> np.ndarray:
        """Days from the origin to the first young let go, as if no loss, shape (n)."""
        return self.steps.released

    def rising(self, step: str) -> tuple[np.ndarray, np.ndarray]:
        """Return the days of a step of all broods, as if no loss, in rising order, with their weights, shape (n)."""
        order = self.steps.orders[step]
        return getattr(self.steps, step)[order], self.weights[order]

    @cached_property
    def holding(self) -> np.ndarray:
        """The weight of each point times the chance that he still held it at the last look, over that without looks.

        Times `survival.at` an instant not before that look, it is the weight that is not lost by then.
        """
        likelihood = self.fate.lost + self.fate.kept * self.fate.survival
        kept_so_far = np.divide(self.fate.kept, likelihood, out=np.zeros_like(likelihood), where=likelihood > 0)
        return self.weights * kept_so_far

    @cached_property
    def kind(self) -> np.ndarray:
        """The chance for each point that he never shows tails and that he does, if he holds it still, shape (2, n)."""
        by_kind, kept = self.fate.kept_by_kind, self.fate.kept
        return np.divide(by_kind, kept, out=np.zeros_like(by_kind), where=kept > 0)


def believe(evidence: Evidence, profile: Profile, learned: Learned | None = None) -> Belief:
    """Return the weighted points of the brood that `evidence` tells of, starting from the books or what was learned."""
    _keep_freed_memory()
    by = weighing(evidence, profile, learned)
    return _belief(by, drawn_and_weighed(by.sampled))


def weighed_anew(
    belief: Belief, evidence: Evidence, profile: Profile, learned: Learned | None = None
) -> Belief:
    """Return a belief's points weighed again by another profile, or other evidence.

    The points are scores of the prior's quantile functions, so they remain points of any other prior as well; they
    are fewer where they fit less well, which is enough to see whether a number matters.
    """
    by = weighing(evidence, profile, learned)
    return _belief(by, by.sampled(belief.scores, np.log(belief.ratio)))


def _keep_freed_memory() -> None:
    """Let the C library keep the memory of one forecast for the next, instead of handing it back at once.

    A pass makes some hundred arrays of 64 to 160 kB. glibc gives back freed memory beyond twice the largest block it
    has seen freed (mallopt(3), M_TRIM_THRESHOLD), and getting it again page by page would take as long as the
    arithmetic. This block is never touched, so it costs address space for an instant and nothing else.
    """
    np.empty(KEPT_BYTES, dtype=np.uint8)


def _belief(by: Weighing, sample: Sample) -> Belief:
    return Belief(
        origin=by.course.origin,
        scores=sample.scores,
        weights=sample.weights(),
        steps=sample.steps,
        fate=sample.fate,
        survival=sample.survival,
        sights=by.seen,
        ratio=np.exp(sample.log_ratio),
    )
