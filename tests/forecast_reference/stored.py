"""The stored values, with what to ask the product for each: the loader for the tests that compare it with them.

Every `values` has beside its figures `error`: their standard errors from five independent runs, days for instants.

hatching_cases()   one brood each, of a species that hatches after dark or by degree-days
    case.document               in the JSON form of `holdwatch forecast`
    case.degree_days_zero_c     None, or the zero of effective degree-days that its profile is to count from
    case.values                 a forecast: spawned, silver, hatched, released, released_last: {"q05": instant, ...};
                                now: six chances; nights; catch; conflict; not_believed; effective_points.  Where the
                                young are let go at hatching also evenings: {date: chance that the eggs hatch in its
                                dark if not lost}, and in each night hatches: the chance that they do, unlost, after now

learning_cases()   a household each
    case.document               {"household": [{"male_id", "brood"}, ...], "next": {"male_id", "brood"}}
    case.values["finished"]     of each finished brood: quantiles of H and D in reference days under the books' prior,
                                and early_loss, its posterior chance of an early loss
    case.values["apart"]        what the page's learning gives without its bins: each brood's likelihoods of log H and
                                of log D taken apart.  The product is to be compared with this
    case.values["together"]     the same with each brood's likelihood of H and D together: the exact posterior
        ...["long_kind"]        chance that the household's young stay long in the mouth
        ...["males"][male_id]   hatch_days, mouth_days: quantiles of his next brood's H and D in reference days;
                                early_loss_chance, early_loss_carried; "newcomer" is any male without finished broods
        ...["next"]             the forecast of the next brood, as above

look_cases()       one brood each, with its looks to come
    case.document               in the JSON form of `holdwatch forecast`
    case.values["night"]        the night to catch as of now
    case.values["gains"]        of each look up to then: at, light, parts asked, best_without, gain, cost
    case.values["advised"]      the look to advise, or None
    case.values["if_seen"]      of each look of three evenings: parts: {part: {outcome: {chance, now, catch, saved:
                                {date: ...}}}}, the brood asked at the look's instant with that one part seen

Of a species that hatches after dark the hatch falls into one evening or another, and a quantile whose percentage lies
at the edge between two evenings may lie on either: `sure_quantiles` leaves those out. Compare the evenings as well.

Not stored, but drawn from seeds: `simulate_households.simulate_household`, whole households in the form of
learning_cases with the truth of the next brood; `worlds.simulate_brood`, `worlds.follow` and `worlds.best_fixed_night`.
"""

import json
from dataclasses import dataclass

import numpy as np

from . import make_hatching, make_learning, make_look
from .broods_hatching import HATCHING
from .households import HOUSEHOLDS

EDGE = 0.02


@dataclass(frozen=True)
class Case:
    """A question and what plain Monte Carlo says to it."""

    document: dict
    values: dict
    degree_days_zero_c: float | None = None


def hatching_cases() -> dict[str, Case]:
    """The broods of values_hatching.json."""
    stored = json.loads(make_hatching.VALUES.read_text())
    return {name: Case(HATCHING[name], values, values["degree_days_zero_c"]) for name, values in stored.items()}


def learning_cases() -> dict[str, Case]:
    """The households of values_learning.json."""
    stored = json.loads(make_learning.VALUES.read_text())
    return {name: Case(HOUSEHOLDS[name], values) for name, values in stored.items()}


def look_cases() -> dict[str, Case]:
    """The broods of values_look.json."""
    stored = json.loads(make_look.VALUES.read_text())
    return {name: Case(make_look.BROODS[name], values) for name, values in stored.items()}


def sure_quantiles(values: dict) -> list[str]:
    """The quantiles of the hatch that no small change of a chance moves to another evening."""
    edges = np.cumsum(list(values.get("evenings", {}).values()))
    names = values["hatched"]
    return [name for name in names if all(abs(float(name[1:]) / 100 - edge) > EDGE for edge in edges)]
