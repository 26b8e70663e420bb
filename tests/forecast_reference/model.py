"""The forecast of one brood by plain Monte Carlo importance sampling: the reference for the product's forecast.

Draws come from ordinary random numbers with a seed. All seven continuous latents, the instant of loss and whether the
male lets tails be seen are sampled from their priors and weighted by the likelihood of the evidence. Plain draws from
the prior leave too few effective points once many looks agree, so 80 % of the points come from one Student t (5
degrees of freedom) fitted to pilot draws and every point is weighted against the mixture (Hesterberg 1995): no weight
can exceed five likelihoods. Quantiles are read from histograms with bins of 0.002 d, so that the memory stays flat.

Where the description of the model is silent or can be read in two ways, this reference does the following.

Temperature: the grid lies on whole hours UTC, and the clock is linear between its hours. "Readings at most 24 h
apart" includes 24 h. "The last 7 days that have readings" are 24 h days counted back from the last reading, so that a
shift of all instants changes nothing; the median is over all readings of those days, and there is one for all gaps of
the brood. Readings after now are not used. An hour is covered if it lies between two readings at most 24 h apart; the
share is over whole hours from the earliest spawn to now.

Spawn: a seen spawn is a Normal that nothing cuts, not even now, and its earliest possible instant is three stated
errors before it. The first sign of a brood is a look with mouth full, eggs orange, turning or silver, or tails seen;
without any, 30 d before `b`. Of k courtships each has the density 0.8/k over its own 36 h, as far as they lie in (a,
b); what is left is even outside all.

Days: H, E and D are reference days; W, the means of the loss and the age of young in tails and v_held are ordinary
days.

Looks: releasing counts as holding for eggs and food. Of tails that are not there "once eyed" is silver or later and
still held, "while orange" everything else: before silver, and a mouth that is empty before the spawn, after a loss or
after the release (the other reading goes by the instant of E alone, lost or not; it moves the chance of loss of the
brood "no tails, or no clutch" by 0.03). White light is daylight, dim white and torch; none counts as red. Looks are
one look within 3 h of the first of them; the best light is daylight and torch, then dim white, then blue, red and
none alike; every reading counts at its own instant. A recalled look is never merged, releasing counts as holding, and
the last of each run of recalled looks counts.

Catch: any kind counted that fits will do; eggs need an egg still held, yolk young held before the first release, free
young a begun release; an empty catch needs a male that holds nothing. After a catch the six chances are those at its
instant. The looks up to the instant of the catch count.

Loss: `none if L >= first release`, so lost at t is L <= t and L < first release; steps' quantiles ignore it.

Nights: age and let-go shares by ordinary days; the share out grows evenly from first to last release. `night` is the
date.
"""

import numpy as np

from . import nights
from .clock import DegreeDays
from .contradictions import contradictions
from .evidence import iso
from .likelihood import Problem, pose
from .sampling import Draws, chunks
from .truth import STATES, STEPS, states

QUANTILES = (5, 10, 25, 50, 75, 90, 95)
BIN_DAYS = 0.002
REACH_DAYS = 250.0


class Tally:
    """Running sums over chunks: a histogram for each step, chances and values at now and at each night."""

    def __init__(self, problem: Problem) -> None:
        self.brood = problem.brood
        self.nights = [] if problem.brood.catch else nights.list_nights(problem.brood)
        self.histograms = {step: np.zeros(int(2 * REACH_DAYS / BIN_DAYS)) for step in STEPS}
        self.instants = np.zeros((1 + len(self.nights), len(STATES)))
        self.values = np.zeros((len(self.nights), 2))
        self.points, self.weight, self.squares = 0, 0.0, 0.0

    def add(self, draws: Draws) -> None:
        """Add one chunk of draws."""
        self.points += len(draws.weight)
        self.weight += draws.weight.sum()
        self.squares += (draws.weight**2).sum()
        for step, histogram in self.histograms.items():
            place = (getattr(draws.course, step) - self.brood.now + REACH_DAYS) / BIN_DAYS
            bins = np.clip(place, 0, len(histogram) - 1).astype(int)
            histogram += np.bincount(bins, draws.weight, len(histogram))
        for row, at in enumerate([self.brood.end(), *(night.at for night in self.nights)]):
            here = states(draws.course, draws.loss, at)
            self.instants[row] += [draws.weight @ here[name] for name in STATES]
        for row, night in enumerate(self.nights):
            parts = nights.saved(self.brood, draws.course, draws.loss, night.at)
            self.values[row] += [draws.weight @ part for part in parts]

    def quantiles(self, step: str) -> dict[str, str]:
        """The seven quantiles of a step, linear within a bin."""
        mass = np.concatenate([[0.0], np.cumsum(self.histograms[step])]) / self.weight
        edges = self.brood.now - REACH_DAYS + BIN_DAYS * np.arange(len(mass))
        return {f"q{q:02d}": iso(float(np.interp(q / 100, mass, edges))) for q in QUANTILES}

    def chances(self, row: int) -> dict[str, float]:
        """The six chances at now (row 0) or at a night (row 1 on)."""
        return {name: float(p) for name, p in zip(STATES, self.instants[row] / self.weight, strict=True)}

    def night_rows(self) -> list[dict]:
        """The night table."""
        worth = self.values.sum(axis=1) / self.weight
        return [
            {"night": night.date, "at": iso(night.at), "saved": float(worth[i]), **self.chances(i + 1)}
            for i, night in enumerate(self.nights)
        ]


def forecast(document: dict, seed: int, effective_points: float = 100_000, clock: DegreeDays | None = None) -> dict:
    """The forecast of one brood's JSON form, in the product's JSON form, with at least these effective points."""
    problem, rng = pose(document, clock), np.random.default_rng(seed)
    tally, first = Tally(problem), None
    for draws in chunks(problem, rng, effective_points):
        tally.add(draws)
        first = first or draws
    conflict, not_believed = contradictions(problem, first)
    table = tally.night_rows()
    return {
        **{step: tally.quantiles(step) for step in STEPS},
        "now": tally.chances(0),
        "nights": table,
        "catch": nights.choose(table, list(tally.values[:, 0] / tally.weight)),
        "conflict": conflict,
        "not_believed": not_believed,
        "rough": False,
        "points": tally.points,
        "effective_points": tally.weight**2 / tally.squares,
    }
