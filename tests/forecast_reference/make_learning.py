"""Make values_learning.json anew: `python -m forecast_reference.make_learning`, from the folder of the tests."""

import time
from pathlib import Path

import numpy as np

from .evidence import read_brood
from .households import HOUSEHOLDS
from .learning import (
    APART,
    TOGETHER,
    Households,
    Imprint,
    LearnedPrior,
    early_loss_carried,
    early_loss_chance,
    households,
    imprint,
    learned_prior,
)
from .replicates import REPLICATES, replicated, standard_errors
from .tally import QUANTILES
from .writing import write

SEED = 20270101
EFFECTIVE_POINTS = 120_000
VALUES = Path(__file__).with_name("values_learning.json")
DAYS = ("hatch_days", "mouth_days")


def _quantiles(log_days: np.ndarray, weight: np.ndarray) -> dict[str, dict[str, float]]:
    """The seven quantiles of H and D in reference days of weighted draws (n, axes) of their logs."""
    found = {}
    for name, column in zip(DAYS, log_days.T, strict=False):
        order = np.argsort(column)
        mass = np.cumsum(weight[order]) / weight.sum()
        found[name] = {f"q{q:02d}": float(np.exp(np.interp(q / 100, mass, column[order]))) for q in QUANTILES}
    return found


def _mean(runs: list):
    """The mean of every number in a nest of dicts of one shape."""
    if isinstance(runs[0], dict):
        return {key: _mean([run[key] for run in runs]) for key in runs[0]}
    return float(np.mean(runs))


def _with_error(runs: list[dict]) -> dict:
    return {**_mean(runs), "error": standard_errors(runs)}


def _told_of_a_finished_brood(left: Imprint) -> dict:
    return {**_quantiles(left.days, left.weight), "early_loss": left.early_loss}


def _prior_of(known: Households, male_id: str, chance: float, rng: np.random.Generator) -> tuple[LearnedPrior, dict]:
    prior = learned_prior(known, male_id, chance)
    draws = prior.draw(rng, len(known.weight))
    return prior, _quantiles(draws, np.ones(len(draws)))


def one_run(household: dict, left: list[Imprint], way: str, seed: int, points: float) -> tuple[LearnedPrior, dict]:
    """The prior of the next brood by one set of imprints, and the quantiles of H and D for every male."""
    rng, brood = np.random.default_rng(seed), read_brood(household["next"]["brood"])
    known = households(brood.species, left, rng, points, way)
    males, priors = {}, {}
    for male in sorted({*known.own, household["next"]["male_id"]}):
        chance = early_loss_chance(brood, male, left)
        priors[male], quantiles = _prior_of(known, male, chance, rng)
        carried = early_loss_carried(brood, male, left)
        males[male] = {**quantiles, "early_loss_chance": chance, "early_loss_carried": carried}
    long_kind = float(np.average(known.long_kind, weights=known.weight))
    told = {"long_kind": long_kind, "effective_households": known.effective_points(), "males": males}
    return priors[household["next"]["male_id"]], told


def make(name: str, effective_points: float = EFFECTIVE_POINTS) -> dict:
    """What one household's finished broods teach, and the forecast of its next brood, with its own stated seeds."""
    household, seed = HOUSEHOLDS[name], SEED + 1000 * list(HOUSEHOLDS).index(name)
    points = effective_points / REPLICATES
    finished = household["household"]
    left = [
        [imprint(each, seed + 50 * run + k, points) for k, each in enumerate(finished)] for run in range(REPLICATES)
    ]
    told = [_with_error([_told_of_a_finished_brood(run[k]) for run in left]) for k in range(len(finished))]
    for k, each in enumerate(told):
        each["effective_points"] = sum(run[k].effective_points for run in left)
    values = {"seed": seed, "finished": told}
    for way in (TOGETHER, APART):
        runs = [one_run(household, left[run], way, seed + 500 + run, points) for run in range(REPLICATES)]
        following = replicated(
            household["next"]["brood"], seed + 600, effective_points, learned=[prior for prior, _ in runs]
        )
        values[way] = {**_with_error([each for _, each in runs]), "next": following}
        values[way]["effective_households"] *= REPLICATES
    return values


def _make_all() -> dict[str, dict]:
    results = {}
    for name in HOUSEHOLDS:
        begun = time.process_time()
        results[name] = make(name)
        print(f"{name}: {time.process_time() - begun:.0f} s")
    return results


if __name__ == "__main__":
    write(VALUES, _make_all())
