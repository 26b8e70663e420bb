"""The stored values, with what to ask the product for each: the loader for the tests that compare it with them.

    for name, case in hatching_cases().items():
        case.document            one brood in the JSON form of `holdwatch forecast`
        case.degree_days_zero_c  None, or the zero of effective degree-days that its profile is to count from
        case.values              spawned, silver, hatched, released, released_last: {"q05": instant, ...}; now: six
                                 chances; nights; catch; conflict; not_believed; effective_points; and
                                 error: the standard errors of all of these, days for instants
                                 where the young are let go at hatching also evenings: {date: chance that the eggs
                                 hatch in its dark if they are not lost}, and in each night hatches: the chance that
                                 they do, unlost and after now

Of a species that hatches after dark the hatch falls into one evening or another, and a quantile whose percentage lies
at the edge between two evenings may lie on either: `sure_quantiles` leaves those out. Compare the evenings as well.
"""

import json
from dataclasses import dataclass

import numpy as np

from . import make_hatching
from .broods_hatching import HATCHING

EDGE = 0.02


@dataclass(frozen=True)
class Case:
    """One brood and what plain Monte Carlo says of it."""

    document: dict
    degree_days_zero_c: float | None
    values: dict


def hatching_cases() -> dict[str, Case]:
    """The broods of values_hatching.json."""
    stored = json.loads(make_hatching.VALUES.read_text())
    return {name: Case(HATCHING[name], values["degree_days_zero_c"], values) for name, values in stored.items()}


def sure_quantiles(values: dict) -> list[str]:
    """The quantiles of the hatch that no small change of a chance moves to another evening."""
    edges = np.cumsum(list(values.get("evenings", {}).values()))
    names = values["hatched"]
    return [name for name in names if all(abs(float(name[1:]) / 100 - edge) > EDGE for edge in edges)]
