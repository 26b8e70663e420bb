"""The steps of n possible broods as instants, and the state each of them is in at any instant.

Steps are days since the origin; the last release is `letting_go_days` of plain time after the first.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property
from typing import Any

import numpy as np

from holdwatch.domain.catch import lamps_out_instant
from holdwatch.domain.clock import HOUR, Clock, Thermometer, clock, days_between, thermometer
from holdwatch.domain.forecast.evidence import Evidence, Tank
from holdwatch.domain.forecast.prior import Latents, Learned, earliest_spawn, latents
from holdwatch.domain.species import Profile

ENOUGH_COVERED = 0.5
# How far ahead the evenings are looked up in the tank's zone; a brood that waits longer is taken to the same hour.
DARKS_AHEAD_DAYS = 60
AT_ONCE_DAYS = 1e-9
# Products of two such exponentials still have room; broods that far from the middle are long lost or released.
LARGEST_EXPONENT = 300.0
STEPS = ("spawn", "silver", "hatch", "released", "released_last")


@dataclass(frozen=True)
class Course:
    """What is the same for every point: the origin, the hourly temperature, the spread of the thermometer.

    `darks` are the instants of lamps-out in days since the origin, for those who wait for the dark to hatch.
    """

    origin: datetime
    temperature_c: np.ndarray
    offset_spread_c: float
    darks: np.ndarray


@dataclass(frozen=True)
class Steps:
    """The steps of n broods, in days since the origin, with what their colour follows: the clock and the ages.

    `hatch_age` and `mouth_age` are H and D, in reference days.
    """

    spawn: np.ndarray
    silver: np.ndarray
    hatch: np.ndarray
    released: np.ndarray
    released_last: np.ndarray
    clock: Clock
    spawn_age: np.ndarray
    silver_age: np.ndarray
    hatch_age: np.ndarray
    mouth_age: np.ndarray

    @cached_property
    def orders(self) -> dict[str, np.ndarray]:
        """The order in which the broods take each of the `STEPS`, shape (n) each."""
        return {step: np.argsort(getattr(self, step), kind="stable") for step in STEPS}

    def state(self, at: float) -> np.ndarray:
        """Return the state of each brood at `at` days if it is not lost: 0 not spawned, then by steps passed, to 5."""
        passed = np.zeros(self.spawn.size, dtype=np.int8)
        for step in STEPS:
            passed += getattr(self, step) <= at
        return passed.astype(np.intp)

    def share_to_silver(self, at: float) -> np.ndarray:
        """Return the age of each brood at `at` over its age at silver, x/E; at least 0."""
        return np.maximum(0, (self.clock.age_of_all(at) - self.spawn_age) / self.silver_age)

    def share_let_go(self, at: float) -> np.ndarray:
        """Return the share of the young let go by `at`: they leave evenly from the first to the last."""
        takes = np.maximum(self.released_last - self.released, AT_ONCE_DAYS)
        return np.clip((at - self.released) / takes, 0, 1)


def course(evidence: Evidence, profile: Profile) -> Course:
    """Return the origin, the hourly temperature from it until all is constant, and the spread of the offset."""
    origin = earliest_spawn(evidence, profile.spawning)
    readings = thermometer(evidence.readings, evidence.tank.set_point_c, origin)
    now = days_between(origin, evidence.now)
    temperature_c = readings.at(_hours(readings, now))
    darks = _darks(origin, now, evidence.tank) if profile.hatches_after_dark() else np.zeros(0)
    return Course(origin, temperature_c, _offset_spread(readings, now, profile), darks)


def _darks(origin: datetime, now: float, tank: Tank) -> np.ndarray:
    first = origin.astimezone(tank.zone_info()).date() - timedelta(days=2)
    days = (first + timedelta(days=n) for n in range(int(max(now, 0.0)) + DARKS_AHEAD_DAYS))
    return np.array([days_between(origin, lamps_out_instant(day, tank.zone_info(), tank.lamps_out)) for day in days])


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
    hatch = ticking.when(spawn_age + brood.hatch_age)
    if profile.hatches_after_dark():
        hatch = _in_the_dark(hatch, brood.wait_days, course.darks)
        return _timed(brood, ticking, spawn_age, hatch, hatch)
    return _timed(brood, ticking, spawn_age, hatch, ticking.when(spawn_age + brood.hatch_age + brood.mouth_age))


def _in_the_dark(ready: np.ndarray, wait: np.ndarray, darks: np.ndarray) -> np.ndarray:
    """Return the first lamps-out plus each brood's wait that is not before it is ready, shape (n)."""
    sought = ready - wait
    beyond = np.maximum(np.ceil(sought - darks[-1]), 0)
    index = np.minimum(np.searchsorted(darks, sought), darks.size - 1)
    return darks[index] + beyond + wait


def _timed(
    brood: Latents, ticking: Clock, spawn_age: np.ndarray, hatch: np.ndarray, released: np.ndarray
) -> Steps:
    return Steps(
        spawn=brood.spawn,
        silver=ticking.when(spawn_age + brood.silver_age),
        hatch=hatch,
        released=released,
        released_last=released + brood.letting_go_days,
        clock=ticking,
        spawn_age=spawn_age,
        silver_age=brood.silver_age,
        hatch_age=brood.hatch_age,
        mouth_age=brood.mouth_age,
    )


def bounded_exp(exponent: Any) -> Any:
    """Return exp of a number or an array, bounded so that no product of two overflows."""
    return np.exp(np.minimum(np.maximum(exponent, -LARGEST_EXPONENT), LARGEST_EXPONENT))
