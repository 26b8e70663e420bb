"""One answer from several independent runs, and its standard error from how far they lie apart."""

import math
from functools import reduce

import numpy as np

from .clock import DegreeDays
from .evidence import days
from .model import tallied
from .prior import Learned
from .tally import Tally

REPLICATES = 5


def replicated(
    document: dict,
    seed: int,
    effective_points: float,
    clock: DegreeDays | None = None,
    learned: list[Learned] | None = None,
) -> dict:
    """A forecast from the draws of all runs, with the standard error of each of its figures.

    Each run has its own seed, and its own learned prior where there is one. Errors of instants are in days.
    """
    priors = learned or [None] * REPLICATES
    runs = [
        tallied(document, seed + run, effective_points / REPLICATES, clock, prior) for run, prior in enumerate(priors)
    ]
    whole = reduce(Tally.plus, (tally for tally, _ in runs)).answers()
    errors = standard_errors([tally.answers() for tally, _ in runs])
    figures = {key: errors[key] for key in errors if key not in ("catch", "points", "effective_points")}
    return {"seed": seed, **whole, **runs[0][1], "error": figures}


def standard_errors(runs: list):
    """The standard error of the runs' mean of every number and instant that a nest of dicts and lists shares."""
    first = runs[0]
    if isinstance(first, dict):
        shared = [key for key in first if _is_figure(first[key]) and all(key in run for run in runs)]
        return {key: standard_errors([run[key] for run in runs]) for key in shared}
    if isinstance(first, list):
        return [standard_errors(list(items)) for items in zip(*runs, strict=True)]
    numbers = [days(run) if isinstance(run, str) else float(run) for run in runs]
    return float(np.std(numbers, ddof=1) / math.sqrt(len(numbers)))


def _is_figure(value) -> bool:
    instant = isinstance(value, str) and "T" in value
    return instant or isinstance(value, dict | list | float | int)
