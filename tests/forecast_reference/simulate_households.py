"""Whole households drawn from the model, with the truth of the brood to come: calibration and coverage after learning.

A household has a centre of ln H and a kind and centre of ln D; one to three males have offsets and a chance of an early
loss of their own, Beta about the profile's value and worth four broods; up to five finished broods in sequence and one
to come have residuals. What conditions a brood's prior (bounds or sight of the spawn, readings, the male's history,
when the keeper means to catch, and now) is drawn without a look at its truth. `has_released_before` stays as it was
drawn for a male. A finished brood was watched to its end or caught. Each brood draws `shows`, Q10 and the thermometer
anew, since the model learns none of them.
"""

from dataclasses import dataclass, replace

import numpy as np

from . import numbers, prior
from .axes import axes
from .evidence import days, iso
from .keeper import LAMPS_ON, LAMPS_OUT, ZONE, Truth, watch
from .likelihood import pose
from .simulate import draw_readings
from .species import BANGGAI
from .truth import course

START = days("2025-01-01T00:00:00+00:00")
LONGEST_WATCH_DAYS = 45.0


@dataclass(frozen=True)
class Male:
    """A male's own centres of ln H and ln D, his history and his chance of an early loss."""

    male_id: str
    own: np.ndarray
    experienced: bool
    early_loss_chance: float


@dataclass(frozen=True)
class SimulatedHousehold:
    """A household in its neutral JSON form, and of the brood to come the true steps, as if not lost, and the loss."""

    document: dict
    steps: dict[str, float]
    lost: float | None


def simulate_household(seed: int) -> SimulatedHousehold:
    """One household and its truth."""
    rng = np.random.default_rng(seed)
    males = draw_males(rng)
    finished, earliest = [], START + rng.uniform(0, 60)
    for _ in range(rng.integers(0, 6)):
        male = males[rng.integers(len(males))]
        document = draw_conditions(rng, earliest, male.experienced, LONGEST_WATCH_DAYS)
        catch_after = rng.uniform(17, 30) if rng.random() < 0.5 else None
        seen = watch(rng, draw_truth(rng, document, male), days(document["now"]), catch_after)
        finished.append({"male_id": male.male_id, "brood": document | seen})
        earliest = days(document["now"]) + rng.uniform(2, 15)
    male = males[rng.integers(len(males))]
    document = draw_conditions(rng, earliest, male.experienced, rng.uniform(4, 34))
    truth = draw_truth(rng, document, male)
    upcoming = {"male_id": male.male_id, "brood": document | watch(rng, truth, days(document["now"]))}
    return SimulatedHousehold({"household": finished, "next": upcoming}, truth.steps(), truth.lost())


def draw_males(rng: np.random.Generator) -> list[Male]:
    """One to three males of one household."""
    spans = axes(BANGGAI)
    kinds = [span.kinds[rng.choice(len(span.kinds), p=[share for share, _, _ in span.kinds])] for span in spans]
    centre = np.array([rng.normal(median, spread) for _, median, spread in kinds])
    males = []
    for male_id in "abc"[: rng.integers(1, 4)]:
        own = centre + rng.normal(0, [span.male for span in spans])
        experienced = bool(rng.random() < 0.7)
        profile, worth = BANGGAI.early_loss_chance[experienced], numbers.EARLY_LOSS_WORTH_BROODS
        males.append(Male(male_id, own, experienced, float(rng.beta(worth * profile, worth * (1 - profile)))))
    return males


def draw_conditions(rng: np.random.Generator, earliest: float, experienced: bool, watched_days: float) -> dict:
    """Everything of a brood but its looks, now being so many days after the latest possible spawn."""
    latest = earliest + rng.uniform(1, 8)
    now, set_point_c = latest + watched_days, float(rng.uniform(25, 28))
    tank = {"zone": ZONE, "set_point_c": set_point_c, "lamps_out": LAMPS_OUT, "lamps_on": LAMPS_ON, "company": "others"}
    bounds = {"not_before": iso(earliest), "not_after": iso(latest)}
    seen = {"spawn": {"at": iso((earliest + latest) / 2), "error_min": int(rng.choice([30, 240, 720]))}}
    return {
        "species": BANGGAI.name,
        "now": iso(now),
        "tank": tank,
        "male": {"has_released_before": experienced},
        "readings": draw_readings(rng, earliest, now, set_point_c),
        **(seen if rng.random() < 0.3 else bounds),
    }


def draw_truth(rng: np.random.Generator, document: dict, male: Male) -> Truth:
    """The truth of one brood of a male."""
    problem = pose(document)
    points = prior.draw(problem.prior, rng, 1)
    points[0, [prior.LOG_HATCH, prior.LOG_MOUTH]] = male.own + rng.normal(0, [span.brood for span in axes(BANGGAI)])
    broods = course(problem.clock, points)
    his = replace(problem.prior, early_loss_chance=male.early_loss_chance)
    loss = prior.draw_loss(his, rng, broods.spawned)
    return Truth(problem, broods, loss, bool(rng.random() < numbers.SHOWS_CHANCE))
