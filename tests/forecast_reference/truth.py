"""The truth of many points: the instants of every step, and what is so at one instant."""

from dataclasses import dataclass

import numpy as np

from . import prior
from .clock import Clock, Pace, instant_of, pace, reading

STEPS = ("spawned", "silver", "hatched", "released", "released_last")
STATES = ("eggs", "eyed", "held_young", "releasing", "released", "lost")


@dataclass(frozen=True)
class Course:
    """The course of n broods: instants (n,) of the steps as if none were lost, and what the clock needs."""

    clock: Clock
    points: Pace
    spawn_reading: np.ndarray
    silver_days: np.ndarray
    spawned: np.ndarray
    silver: np.ndarray
    hatched: np.ndarray
    released: np.ndarray
    released_last: np.ndarray


@dataclass(frozen=True)
class Moment:
    """What is so (n,) at one instant; holds includes releasing; eyed and hatched go by the clock, lost or not."""

    holds: np.ndarray
    releasing: np.ndarray
    released: np.ndarray
    lost: np.ndarray
    eyed: np.ndarray
    hatched: np.ndarray
    silver_ratio: np.ndarray
    days_since_hatch: np.ndarray
    shows: np.ndarray


def course(clock: Clock, points: np.ndarray) -> Course:
    """The course of points (n, 7): to the first release by the clock, to the last W ordinary days later.

    Of a species that hatches after dark the hatch is the first and the last release.
    """
    paces = pace(clock, points[:, prior.LOG_Q10], points[:, prior.OFFSET])
    spawned = points[:, prior.SPAWN]
    start = reading(clock, paces, spawned)
    hatch_days = np.exp(points[:, prior.LOG_HATCH])
    silver_days = hatch_days * np.exp(points[:, prior.LOG_RATIO])
    ready = instant_of(clock, paces, start + hatch_days)
    if len(clock.lamps_outs):
        hatched = released = released_last = hatch_in_the_dark(clock.lamps_outs, ready, points[:, prior.WAIT])
    else:
        hatched = ready
        released = instant_of(clock, paces, start + hatch_days + np.exp(points[:, prior.LOG_MOUTH]))
        released_last = released + np.exp(points[:, prior.LOG_OUT])
    return Course(
        clock,
        paces,
        start,
        silver_days,
        spawned,
        instant_of(clock, paces, start + silver_days),
        hatched,
        released,
        released_last,
    )


def hatch_in_the_dark(lamps_outs: np.ndarray, ready: np.ndarray, wait: np.ndarray) -> np.ndarray:
    """The first `lamps-out + wait` (n,) not before each point is ready."""
    return lamps_outs[np.searchsorted(lamps_outs, ready - wait)] + wait


def moment(broods: Course, loss: np.ndarray, shows: np.ndarray | bool, instant: float) -> Moment:
    """What is so at an instant, given each point's instant of loss (n,) and whether the male lets tails be seen."""
    lost = (loss < broods.released) & (loss <= instant)
    release_begun = (instant >= broods.released) & ~lost
    released = (instant >= broods.released_last) & ~lost
    return Moment(
        holds=(instant >= broods.spawned) & ~lost & ~released,
        releasing=release_begun & ~released,
        released=released,
        lost=lost,
        eyed=instant >= broods.silver,
        hatched=instant >= broods.hatched,
        silver_ratio=(reading(broods.clock, broods.points, instant) - broods.spawn_reading) / broods.silver_days,
        days_since_hatch=instant - broods.hatched,
        shows=np.broadcast_to(shows, lost.shape),
    )


def states(broods: Course, loss: np.ndarray, instant: float) -> dict[str, np.ndarray]:
    """Which of the six states (n,) each point is in at an instant; exactly one is true."""
    lost = (loss < broods.released) & (loss <= instant)
    edges = [broods.silver, broods.hatched, broods.released, broods.released_last]
    stage = sum((instant >= edge).astype(int) for edge in edges)
    return {**{name: (stage == i) & ~lost for i, name in enumerate(STATES[:5])}, "lost": lost}
