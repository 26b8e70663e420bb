"""Thermometers that show the same value for longer than their steps explain.

A value may well stay the same for a night: a heater holds the water within a step of a coarse thermometer. A run of
hours with one and the same value is taken for stuck where either holds (assumptions):
- it lasts 6 h or more, and another thermometer of the tank moved meanwhile by 0.5 °C and by three steps of this one;
- it lasts 24 h or more, and on its other days this thermometer usually moves by three of its own steps or more. The
  usual movement is the median of the daily ranges of days, by UTC, with readings in 12 hours or more; there must be
  three of them.
A run is broken by a changed value and by 6 hours without readings, and has readings in 6 hours or more. Spikes do not
break it. The whole run is stuck: nobody knows how long its first value was still true. A step is the smallest
difference between values that this thermometer showed, at most 1 °C, which is also taken where it showed none.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median

from .hours import Hour, Part
from .spikes import COARSEST_STEP_C

STUCK_BESIDE_OTHERS_H = 6
STUCK_ALONE_H = 24
LONGEST_PAUSE_H = 6
FEWEST_HOURS = 6
STEPS = 3
MOVED_C = 0.5
DAY_H = 24
TELLING_HOURS, TELLING_DAYS = 12, 3
ROUNDING_C = 1e-6
"""What the arithmetic of tenths may be off by; it must not decide."""


@dataclass(frozen=True)
class Run:
    """Hours, numbered from 1970 UTC, first and last, in which a thermometer showed one and the same value."""

    first: int
    last: int
    celsius: float

    def lasts(self) -> int:
        """How many hours it lasts."""
        return self.last - self.first + 1


def stuck_runs(thermometers: Mapping[str, Sequence[Hour]]) -> dict[str, tuple[Run, ...]]:
    """Return for each thermometer of one tank, by name, the runs in which it was stuck; hours in order."""
    return {name: tuple(_stuck(name, thermometers)) for name in thermometers}


def _stuck(name: str, thermometers: Mapping[str, Sequence[Hour]]) -> Iterator[Run]:
    own = [hour for hour in thermometers[name] if hour.passed]
    runs = [run for run in _runs(own) if run.lasts() >= STUCK_BESIDE_OTHERS_H]
    step = _step(own) if runs else 0.0
    for run in runs:
        if any(_moved(hours, run, step) for other, hours in thermometers.items() if other != name):
            yield run
        elif run.lasts() >= STUCK_ALONE_H and _usual_range(own, run) >= STEPS * step - ROUNDING_C:
            yield run


def _runs(hours: Sequence[Hour]) -> Iterator[Run]:
    run: list[Hour] = []
    for hour in hours:
        if run and not _goes_on(run[-1], hour):
            yield from _run(run)
            run = []
        if hour.passed and hour.passed.low_c == hour.passed.high_c:
            run.append(hour)
    yield from _run(run)


def _run(hours: Sequence[Hour]) -> Iterator[Run]:
    if len(hours) >= FEWEST_HOURS and (shown := hours[0].passed):
        yield Run(hours[0].number, hours[-1].number, shown.low_c)


def _goes_on(before: Hour, hour: Hour) -> bool:
    if before.passed is None or hour.passed is None or hour.number - before.number > LONGEST_PAUSE_H:
        return False
    return before.passed.high_c == hour.passed.low_c == hour.passed.high_c


def _step(hours: Sequence[Hour]) -> float:
    shown = sorted({value for hour in hours if hour.passed for value in (hour.passed.low_c, hour.passed.high_c)})
    return min((b - a for a, b in pairwise(shown) if COARSEST_STEP_C > b - a > ROUNDING_C), default=COARSEST_STEP_C)


def _moved(hours: Sequence[Hour], run: Run, step: float) -> bool:
    shown = [hour.passed for hour in hours if hour.passed and run.first <= hour.number <= run.last]
    return bool(shown) and _range(shown) >= max(MOVED_C, STEPS * step) - ROUNDING_C


def _usual_range(hours: Sequence[Hour], run: Run) -> float:
    days: dict[int, list[Part]] = {}
    for hour in hours:
        if hour.passed and not run.first // DAY_H <= hour.number // DAY_H <= run.last // DAY_H:
            days.setdefault(hour.number // DAY_H, []).append(hour.passed)
    ranges = [_range(day) for day in days.values() if len(day) >= TELLING_HOURS]
    return median(ranges) if len(ranges) >= TELLING_DAYS else 0.0


def _range(parts: Sequence[Part]) -> float:
    return max(part.high_c for part in parts) - min(part.low_c for part in parts)
