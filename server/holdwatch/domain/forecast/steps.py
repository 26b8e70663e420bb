"""The steps of n possible broods as instants, and the state each of them is in at any instant.

Steps are days since the origin; the last release is `letting_go_days` of plain time after the first.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np

from holdwatch.domain.clock import HOUR, Clock, Thermometer, clock, days_between, thermometer
from holdwatch.domain.forecast.evidence import Evidence
from holdwatch.domain.forecast.prior import Latents, Learned, earliest_spawn, latents
from holdwatch.domain.species import Profile

ENOUGH_COVERED = 0.5
# Products of two such exponentials still have room; broods that far from the middle are long lost or released.
LARGEST_EXPONENT = 300.0


@dataclass(frozen=True)
class Course:
    """What is the same for every point: the origin, the hourly temperature, the spread of the thermometer."""

    origin: datetime
    temperature_c: np.ndarray
    offset_spread_c: float


@dataclass(frozen=True)
class Steps:
    """The steps of n broods, in days since the origin, with what their colour follows: the clock and the ages."""

    spawn: np.ndarray
    silver: np.ndarray
    hatch: np.ndarray
    released: np.ndarray
    released_last: np.ndarray
    clock: Clock
    spawn_age: np.ndarray
    silver_age: np.ndarray

    def state(self, at: float) -> np.ndarray:
        """Return the state of each brood at `at` days if it is not lost: 0 not spawned, then by steps passed, to 5."""
        passed = np.zeros(self.spawn.size, dtype=np.int8)
        for step in (self.spawn, self.silver, self.hatch, self.released, self.released_last):
            passed += step <= at
        return passed.astype(np.intp)

    def share_to_silver(self, at: float) -> np.ndarray:
        """Return the age of each brood at `at` over its age at silver, x/E; at least 0."""
        return np.maximum(0, (self.clock.age_of_all(at) - self.spawn_age) / self.silver_age)

    def share_let_go(self, at: float) -> np.ndarray:
        """Return the share of the young let go by `at`: they leave evenly from the first to the last."""
        return np.clip((at - self.released) / (self.released_last - self.released), 0, 1)


def course(evidence: Evidence, profile: Profile) -> Course:
    """Return the origin, the hourly temperature from it until all is constant, and the spread of the offset."""
    origin = earliest_spawn(evidence, profile.spawning)
    readings = thermometer(evidence.readings, evidence.tank.set_point_c, origin)
    now = days_between(origin, evidence.now)
    return Course(origin, readings.at(_hours(readings, now)), _offset_spread(readings, now, profile))


def _hours(readings: Thermometer, now: float) -> np.ndarray:
    last = max([now, *readings.at_days[-1:]])
    return np.arange(np.floor(last / HOUR) + 3) * HOUR


def _offset_spread(readings: Thermometer, now: float, profile: Profile) -> float:
    covered = readings.covered(0.0, now) >= ENOUGH_COVERED
    development = profile.development
    return development.thermometer_spread_c if covered else development.thermometer_spread_unread_c


def steps(
    scores: np.ndarray, evidence: Evidence, profile: Profile, course: Course, learned: Learned | None = None
) -> Steps:
    """Return the steps of the broods at normal `scores`, shape (n, 7)."""
    brood = latents(scores, evidence, profile, course.offset_spread_c, learned)
    ticking = clock(profile.development, course.temperature_c, brood.q10, brood.offset_c)
    spawn_age = ticking.age(brood.spawn)
    return _timed(brood, ticking, spawn_age)


def _timed(brood: Latents, ticking: Clock, spawn_age: np.ndarray) -> Steps:
    hatched_age = spawn_age + brood.hatch_age
    released = ticking.when(hatched_age + brood.mouth_age)
    return Steps(
        spawn=brood.spawn,
        silver=ticking.when(spawn_age + brood.silver_age),
        hatch=ticking.when(hatched_age),
        released=released,
        released_last=released + brood.letting_go_days,
        clock=ticking,
        spawn_age=spawn_age,
        silver_age=brood.silver_age,
    )


def bounded_exp(exponent: Any) -> Any:
    """Return exp of a number or an array, bounded so that no product of two overflows."""
    return np.exp(np.minimum(np.maximum(exponent, -LARGEST_EXPONENT), LARGEST_EXPONENT))
