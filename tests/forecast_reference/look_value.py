"""What a look to come is worth, and what each of its outcomes would mean, by brute force.

A look's gain: every weighted draw of the posterior says how likely each outcome of the look is, and what each night
would save. So for every joint outcome of the parts that can be asked then, the draws weighed by its chance are the
forecast with that look added; its best night not before that evening is picked; the gain is the sum of P(outcome) times
best, less the best night without the look. The same draws serve with and without, so that noise cancels.

Where the page is silent or can be read in two ways:

- Parts askable: in white light all parts of the species; in red or blue neither the colour of eggs nor food.
- All parts askable are answered at once; an outcome is a combination. Asking fewer parts is worth less or as much.
- "Not before that evening": nights whose instant is not before the look. The best night without the look is over all
  nights; up to the night to catch it is one of these.
- What a night saves is counted as of now for both (young let go between now and the look count as let go after now), so
  that the outcomes' saved add up to that without the look and no look is worth less than nothing.
- The rules for saying a night (0.005 the earlier, 0.01 for a change, nothing left) have no part in the gain.
- The shadow of the look itself (its cost, fright) is compared, not simulated.
- "Up to the night to catch": before the instant of the catch on the night that the forecast recommends.
- A free look is worth any gain above nothing: in exact arithmetic a look gains nothing only if no outcome moves the
  best night, so a program must say how much is nothing. `advised` takes 0.0005.

`if_seen`: the brood asked at the look's instant, with that one part of that look seen and nothing else. Everything that
depends on now, such as which young were let go since, is as of the look.
"""

from dataclasses import dataclass, replace
from functools import reduce
from itertools import product

import numpy as np

from . import looks, nights, numbers
from .evidence import Reading, days
from .likelihood import Problem, pose
from .replicates import REPLICATES, standard_errors
from .sampling import Draws, chunks
from .tally import Tally
from .truth import moment

COST = {"daylight": 0.0, "red": 0.004}
NOTHING = 0.0005
DARK_PARTS = ("mouth", "clutch", "tails", "loose_fry")


@dataclass(frozen=True)
class Sums:
    """Sums of weights: in all, by joint outcome (outcomes,), by night without it (nights,) and by both."""

    weight: float
    outcome: np.ndarray
    night: np.ndarray
    both: np.ndarray

    def plus(self, other: "Sums") -> "Sums":
        """The sums of both."""
        return Sums(
            self.weight + other.weight,
            self.outcome + other.outcome,
            self.night + other.night,
            self.both + other.both,
        )


def parts_askable(problem: Problem, light: str) -> list[str]:
    """The parts that a look in this light may be asked."""
    return [part for part in problem.brood.species.parts() if light in looks.WHITE or part in DARK_PARTS]


def _chances(candidate: dict, part: str, draws: Draws) -> tuple[np.ndarray, ...]:
    at = days(candidate["at"])
    reading = Reading(part, "", at, candidate["light"], 1.0, -1)
    return looks.outcome_chances(reading, moment(draws.course, draws.loss, draws.shows, at))


def _sums(problem: Problem, candidate: dict, draws: Draws) -> Sums:
    brood = problem.brood
    worth = np.array([sum(nights.saved(brood, draws.course, draws.loss, n)) for n in nights.list_nights(brood)])
    parts = [_chances(candidate, part, draws) for part in parts_askable(problem, candidate["light"])]
    outcome, both = [], []
    for combination in product(*parts):
        weight = draws.weight * np.prod(combination, axis=0)
        outcome.append(weight.sum())
        both.append(worth @ weight)
    return Sums(float(draws.weight.sum()), np.array(outcome), worth @ draws.weight, np.array(both))


def _gain(problem: Problem, candidate: dict, sums: Sums) -> dict:
    later = np.array([night.at >= days(candidate["at"]) for night in nights.list_nights(problem.brood)])
    without, with_look = sums.night.max(), sums.both[:, later].max(axis=1).sum()
    return {"best_without": float(without / sums.weight), "gain": float((with_look - without) / sums.weight)}


def gain(document: dict, candidate: dict, seed: int, effective_points: float) -> dict:
    """What a look {"at", "light"} gains, with its standard error over independent runs."""
    problem, runs = pose(document), []
    for run in range(REPLICATES):
        rng = np.random.default_rng(seed + run)
        draws = chunks(problem, rng, effective_points / REPLICATES)
        runs.append(reduce(Sums.plus, (_sums(problem, candidate, each) for each in draws)))
    whole = _gain(problem, candidate, reduce(Sums.plus, runs))
    errors = standard_errors([_gain(problem, candidate, each) for each in runs])
    parts = parts_askable(problem, candidate["light"])
    return {**candidate, "parts": parts, "cost": COST[candidate["light"]], **whole, "error": errors}


def up_to(night: dict | None, candidates: list[dict]) -> list[dict]:
    """The looks that come before the catch on the night to catch; none where there is no night."""
    return [each for each in candidates if night and days(each["at"]) <= days(night["at"])]


def advised(gains: list[dict]) -> dict | None:
    """The first look whose gain exceeds its cost, if any."""
    worth = (each for each in gains if each["gain"] > max(each["cost"], NOTHING))
    return next(({"at": each["at"], "light": each["light"]} for each in worth), None)


def if_seen(document: dict, candidate: dict, seed: int, effective_points: float) -> dict:
    """By part and outcome: its chance, and six chances and nights of the brood asked then with that outcome seen."""
    problem = pose({**document, "now": candidate["at"]})
    parts = parts_askable(problem, candidate["light"])
    outcomes = [(part, value) for part in parts for value in numbers.OUTCOMES[part]]
    runs = []
    for run in range(REPLICATES):
        tallies, weight = {outcome: Tally(problem, steps=()) for outcome in outcomes}, 0.0
        for draws in chunks(problem, np.random.default_rng(seed + run), effective_points / REPLICATES):
            weight += draws.weight.sum()
            for part in parts:
                for value, chance in zip(numbers.OUTCOMES[part], _chances(candidate, part, draws), strict=True):
                    tallies[part, value].add(replace(draws, weight=draws.weight * chance))
        runs.append((tallies, weight))
    told = {part: {} for part in parts}
    for part, value in outcomes:
        told[part][value] = _told([(tallies[part, value], weight) for tallies, weight in runs])
    return {**candidate, "parts": told}


def _told(runs: list[tuple[Tally, float]]) -> dict:
    each = [_verdict(tally, weight) for tally, weight in runs]
    whole = _verdict(reduce(Tally.plus, (tally for tally, _ in runs)), sum(weight for _, weight in runs))
    return {**whole, "error": standard_errors([{k: v for k, v in run.items() if k != "catch"} for run in each])}


def _verdict(tally: Tally, weight: float) -> dict:
    answers = tally.answers()
    return {
        "chance": float(tally.weight / weight),
        "now": answers["now"],
        "saved": {night["night"]: night["saved"] for night in answers["nights"]},
        "catch": answers["catch"],
        "effective_points": answers["effective_points"],
    }
