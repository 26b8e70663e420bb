"""Whole broods drawn from the model, with their truth, for calibration by simulation.

Talts et al. 2018, arXiv 1804.06788.

The truth comes from the prior of the very evidence that the forecast is given: what conditions the prior (the bounds
of the spawn or the evening on which it was seen, courtship, readings, now, and when, how and what was looked at) is
fixed first, without a look at the truth. Then the latents, the loss and the outcomes of the looks are drawn. Looks
begin at the earliest possible spawn, so many fall before it and false *full* is among them. Looks lie more than 3 h
apart, since merged looks are by design believed less than the model that would have drawn them one by one.
"""

from dataclasses import dataclass

import numpy as np

from . import numbers, prior
from .evidence import Reading, days, iso
from .likelihood import Problem, pose
from .looks import outcome_chances
from .truth import Course, course, moment

START = days("2026-02-01T00:00:00+00:00")
LIGHTS, LIGHT_SHARES = ("daylight", "dim_white", "blue", "red"), (0.4, 0.2, 0.15, 0.25)
ASKED = {"mouth": 0.9, "eggs": 0.45, "tails": 0.5, "food": 0.25, "loose_fry": 0.25}


@dataclass(frozen=True)
class Simulated:
    """One brood in its JSON form, and the true instants of its steps, as if not lost, and of its loss, if any."""

    document: dict
    steps: dict[str, float]
    lost: float | None


def simulate(rng: np.random.Generator) -> Simulated:
    """One brood and its truth."""
    document = _conditions(rng)
    problem = pose(document)
    points = prior.draw(problem.prior, rng, 1)
    truth = course(problem.clock, points)
    loss = prior.draw_loss(problem.prior, rng, truth.spawned)
    looks = _draw_looks(rng, problem, truth, loss)
    steps = {step: float(getattr(truth, step)[0]) for step in ("spawned", "silver", "hatched", "released")}
    return Simulated({**document, "looks": looks}, steps, float(loss[0]) if loss < truth.released else None)


def _conditions(rng: np.random.Generator) -> dict:
    """Everything of a brood but its looks, drawn without the truth."""
    earliest, wide = START + rng.uniform(0, 30), rng.uniform(3, 25)
    now = earliest + wide + rng.uniform(2, 30)
    tank = {"zone": "Europe/Lisbon", "set_point_c": float(rng.uniform(25, 28)), "company": "others"}
    document = {
        "species": "Pterapogon kauderni",
        "now": iso(now),
        "tank": {**tank, "lamps_out": "21:30", "lamps_on": "09:30"},
        "male": {"has_released_before": bool(rng.random() < 0.5)},
        "readings": draw_readings(rng, earliest, now, tank["set_point_c"]),
    }
    return document | _draw_spawn_evidence(rng, earliest, earliest + wide)


def _draw_spawn_evidence(rng: np.random.Generator, earliest: float, latest: float) -> dict:
    """A seen spawn, or bounds that it lies between, with a courtship or without."""
    kind = rng.choice(["bounded", "seen", "courted"], p=[0.6, 0.2, 0.2])
    if kind == "seen":
        return {"spawn": {"at": iso((earliest + latest) / 2), "error_min": int(rng.choice([30, 240, 720]))}}
    courtship = [{"at": iso(rng.uniform(earliest, latest))}] if kind == "courted" else []
    return {"not_before": iso(earliest), "not_after": iso(latest), "courtship": courtship}


def draw_readings(rng: np.random.Generator, earliest: float, now: float, set_point_c: float) -> list[dict]:
    """Readings with a wandering mean, every few hours or days, some with a long gap, some with none at all."""
    step = float(rng.choice([2, 8, 12, 20, 40])) / 24
    times = np.arange(earliest + rng.uniform(-3, 6), now, step)
    gap = rng.uniform(earliest, now) + np.array([0.0, rng.choice([0.0, 5.0])])
    times = times[(times < gap[0]) | (times > gap[1])] if rng.random() < 0.9 else times[:0]
    wander = np.cumsum(rng.normal(0, 0.15, len(times))) * np.sqrt(step)
    celsius = set_point_c + rng.normal(0, 0.5) + wander + rng.normal(0, 0.1, len(times))
    return [{"at": iso(at), "temperature_c": round(float(c), 3)} for at, c in zip(times, celsius, strict=True)]


def _look_instants(rng: np.random.Generator, problem: Problem) -> list[float]:
    """Up to 12 instants between the earliest spawn and now, more than 3 h apart."""
    instants = np.sort(rng.uniform(max(problem.brood.earliest, START), problem.brood.now, rng.integers(1, 13)))
    apart = np.diff(instants, prepend=-np.inf) > numbers.ONE_LOOK_DAYS + 0.01
    return [float(at) for at in instants[apart]]


def _draw_looks(rng: np.random.Generator, problem: Problem, truth: Course, loss: np.ndarray) -> list[dict]:
    """Looks of mixed light and parts; now and then a recalled one, never two in a row."""
    shows, looks = bool(rng.random() < numbers.SHOWS_CHANCE), []
    for at in _look_instants(rng, problem):
        recalled = bool(rng.random() < 0.1) and not (looks and looks[-1]["recalled"])
        light = str(rng.choice(LIGHTS, p=LIGHT_SHARES))
        asked = ["mouth"] if recalled else [part for part, share in ASKED.items() if rng.random() < share]
        look = {"at": iso(at), "light": light, "recalled": recalled}
        for part in asked:
            reading = Reading(part, "", days(look["at"]), light, 1.0, len(looks), recalled)
            chances = [float(p[0]) for p in outcome_chances(reading, moment(truth, loss, shows, reading.at))]
            look[part] = str(rng.choice(numbers.OUTCOMES[part], p=np.clip(chances, 0, None)))
        looks.append(look)
    return looks
