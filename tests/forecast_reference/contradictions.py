"""Looks and parts that the rest of the evidence did not lead one to expect."""

from itertools import product

import numpy as np

from . import looks, numbers
from .evidence import Reading
from .likelihood import Problem, look_likelihood
from .sampling import Draws
from .truth import moment

CONFLICT, NOT_BELIEVED = 0.001, 0.03


def _part_chances(readings: list[Reading], draws: Draws) -> np.ndarray:
    """Chances (outcomes, n) of a part, its readings averaged in the log, had all of them been the same outcome."""
    by_reading = [
        np.array(looks.outcome_chances(r, moment(draws.course, draws.loss, draws.shows, r.at))) ** r.share
        for r in readings
    ]
    return np.prod(by_reading, axis=0)


def _tail_chance(chances: list[np.ndarray], seen: np.ndarray, weight: np.ndarray) -> float:
    """Predictive chance of all joint outcomes no likelier than the one seen, of likelihood seen (n,)."""
    joint = [float(weight @ np.prod(combination, axis=0)) for combination in product(*chances)]
    observed = float(weight @ seen) / weight.sum()
    return sum(p for p in joint if p / weight.sum() <= observed * (1 + 1e-9)) / sum(joint)


def contradictions(problem: Problem, draws: Draws) -> tuple[dict | None, list[dict]]:
    """The look in conflict, if any, and the parts not believed, by tail chances that leave the look itself out."""
    conflicts, not_believed = [], []
    for look in problem.brood.looks:
        seen = look_likelihood(look, draws.course, draws.loss, draws.shows)
        rest = draws.weight / seen
        parts = {part: [r for r in look if r.part == part] for part in numbers.OUTCOMES}
        chances = {part: _part_chances(readings, draws) for part, readings in parts.items() if readings}
        tail = _tail_chance(list(chances.values()), seen, rest)
        conflicts += [(tail, look[0].look)] if tail < CONFLICT else []
        for part, chance in chances.items():
            one = np.prod([chance[numbers.OUTCOMES[part].index(r.value)] ** r.share for r in parts[part]], axis=0)
            if _tail_chance([chance], one, rest) <= NOT_BELIEVED:
                not_believed.append({"look": parts[part][0].look, "part": part})
    worst = min(conflicts, default=None)
    return ({"look": worst[1], "why": f"tail chance {worst[0]:.2g}"} if worst else None), not_believed
