"""A careful keeper: when he looks at a brood and what he sees, given its truth.

Every day at feeding he looks at the mouth by daylight, every third day at the colour of the eggs, now and then at the
food. Two weeks after the first full mouth he also looks for tails, and from the day after that half an hour after
lamps-out by red light. Twice a normal mouth, 12 h or more apart, ends the watch; so does a catch, if he planned one and
the last mouth was full. When he looks follows from what he has seen, never from the truth, so the likelihood of his
looks is that of the model. The tank's zone is Reykjavik's, where local time is UTC.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from . import numbers
from .evidence import Reading, days, iso
from .likelihood import Problem
from .looks import outcome_chances
from .truth import Course, moment

ZONE, LAMPS_OUT, LAMPS_ON = "Atlantic/Reykjavik", "21:30", "09:30"
FEEDING, RED_LOOK, CATCH = 18.0 / 24, 22.1 / 24, 22.5 / 24
TAILS_AFTER_DAYS, STILL_NOTHING_DAYS, TWO_LOOKS_APART_DAYS = 14, 6, 0.5
ONE_SITTING_DAYS = 1.0 / 24


@dataclass(frozen=True)
class Truth:
    """One brood as it is: its evidence without looks, its course, its loss and whether the male lets tails be seen."""

    problem: Problem
    course: Course
    loss: np.ndarray
    shows: bool

    def steps(self) -> dict[str, float]:
        """The instants of the steps, as if it were not lost."""
        return {step: float(getattr(self.course, step)[0]) for step in ("spawned", "silver", "hatched", "released")}

    def lost(self) -> float | None:
        """The instant of the loss, if there is one."""
        return float(self.loss[0]) if self.loss[0] < self.course.released[0] else None


# What people see of the parts asked at an instant under a light, as looks in the JSON form of a brood.
Looking = Callable[[np.random.Generator, Truth, float, str, list[str]], list[dict]]


def chances(reading: Reading, truth: Truth) -> np.ndarray:
    """The model's chances of every outcome of one part."""
    here = moment(truth.course, truth.loss, truth.shows, reading.at)
    return np.clip([float(p[0]) for p in outcome_chances(reading, here)], 0, 1)


def see(rng: np.random.Generator, reading: Reading, truth: Truth) -> str:
    """What is seen of a part, as the model has it."""
    return str(rng.choice(numbers.OUTCOMES[reading.part], p=chances(reading, truth)))


def one_look(rng: np.random.Generator, truth: Truth, at: float, light: str, parts: list[str]) -> list[dict]:
    """One person's look, as the model has it."""
    written = {"at": iso(at), "light": light}
    readings = {part: Reading(part, "", days(written["at"]), light, 1.0, -1) for part in parts}
    return [written | {part: see(rng, reading, truth) for part, reading in readings.items()}]


@dataclass
class Watch:
    """The looks so far, and what the keeper makes of them."""

    looks: list[dict]
    first_full: float | None = None
    empty_since: float | None = None
    last_mouth: str = ""
    ended: bool = False

    def note(self, seen: dict) -> None:
        """Add a look."""
        at, self.last_mouth = days(seen["at"]), seen["mouth"]
        self.looks.append(seen)
        if self.last_mouth == "full" and self.first_full is None:
            self.first_full = at
        if self.last_mouth != "normal" or self.first_full is None:
            self.empty_since = None
        elif self.empty_since is None:
            self.empty_since = at
        elif at - self.empty_since >= TWO_LOOKS_APART_DAYS:
            self.ended = True


def watch(
    rng: np.random.Generator,
    truth: Truth,
    until: float,
    catch_after_days: float | None = None,
    looking: Looking = one_look,
    gives_up: bool = True,
) -> dict:
    """Looks, and a catch where one was planned so many days after the first full mouth, up to an instant.

    A keeper who does not give up looks on after two normal mouths.
    """
    brood, kept = truth.problem.brood, Watch([])
    for day in range(int(np.ceil(brood.earliest)), int(until)):
        for at, light, parts in _looks_of_the_day(rng, kept, day):
            if at + ONE_SITTING_DAYS < until and not (gives_up and kept.ended):
                for seen in looking(rng, truth, at, light, parts):
                    kept.note(seen)
        nothing = kept.first_full is None and day > brood.latest + STILL_NOTHING_DAYS
        if nothing or (gives_up and kept.ended):
            break
        if catch_after_days and _due(kept, day, catch_after_days) and day + CATCH < until:
            return {"looks": kept.looks, "catch": _catch(truth, day + CATCH)}
    return {"looks": kept.looks}


def _looks_of_the_day(rng: np.random.Generator, kept: Watch, day: int) -> list[tuple[float, str, list[str]]]:
    since = day - kept.first_full if kept.first_full else 0
    parts = ["mouth"] + (["eggs"] if day % 3 == 0 else []) + (["food"] if rng.random() < 0.4 else [])
    looks = [(day + FEEDING, "daylight", parts + (["tails"] if since > TAILS_AFTER_DAYS else []))]
    red = [(day + RED_LOOK, "red", ["mouth", "tails", "loose_fry"])] if since > TAILS_AFTER_DAYS + 1 else []
    return looks + red


def _due(kept: Watch, day: int, catch_after_days: float) -> bool:
    return bool(kept.first_full and day - kept.first_full >= catch_after_days and kept.last_mouth == "full")


def _catch(truth: Truth, at: float) -> dict:
    """What a catch finds: it is never wrong; a male who has let all go, or lost them, has nothing."""
    written = {"at": iso(at), "eggs": 0, "yolk": 0, "free": 0}
    here = moment(truth.course, truth.loss, truth.shows, at)
    kind = "free" if here.releasing[0] else "yolk" if here.hatched[0] else "eggs"
    return written | ({kind: 30} if here.holds[0] else {})
