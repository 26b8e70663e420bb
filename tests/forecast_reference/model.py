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

Released at hatching: the clock reads readiness, and the hatch is the first and the last release: there is no young
held and nothing releasing, and the chance of an early or late loss ends with it. The lamps' times are those of the
brood's tank on every date. An evening's dark lasts from lamps-out to lamps-on. What hatches in the dark of night 0
before now counts for nothing; "still eggs after it" is eggs or eyed at lamps-on, both worth v_eggs; the egg tumbler has
no part in it. "Nothing left to save" asks for the first two terms. The chances of a night are those at its instant, as
for any other species, so that some of what hatches in its dark may have hatched by then.

Nest guarders: an empty nest is gone 0.97, there 0.03, in any light; a recalled clutch 0.85 / 0.15 and the reverse; a
clutch that is there is a first sign of a brood. Mouth, tails and food say nothing. Larvae of any age in a catch mean
that the hatch was.

Nights: age and let-go shares by ordinary days; the share out grows evenly from first to last release. `night` is the
date.
"""

import numpy as np

from .clock import DegreeDays
from .contradictions import contradictions
from .likelihood import pose
from .prior import Learned
from .sampling import chunks
from .tally import Tally


def forecast(
    document: dict,
    seed: int,
    effective_points: float = 100_000,
    clock: DegreeDays | None = None,
    learned: Learned | None = None,
) -> dict:
    """The forecast of one brood's JSON form, in the product's JSON form, with at least these effective points."""
    tally, told = tallied(document, seed, effective_points, clock, learned)
    return {**tally.answers(), **told, "rough": False}


def tallied(
    document: dict, seed: int, effective_points: float, clock: DegreeDays | None, learned: Learned | None
) -> tuple[Tally, dict]:
    """The sums of one forecast, and the look in conflict and the parts not believed."""
    problem, rng = pose(document, clock, learned), np.random.default_rng(seed)
    tally, first = Tally(problem), None
    for draws in chunks(problem, rng, effective_points):
        tally.add(draws)
        first = first or draws
    conflict, not_believed = contradictions(problem, first)
    return tally, {"conflict": conflict, "not_believed": not_believed}
