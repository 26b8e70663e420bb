"""Times by the clock of a tank become instants, in the order in which a file tells them.

When clocks go back, times come twice. There the file itself tells which one is meant: of the two instants that one
is taken which follows the reading before it as its readings usually follow each other. So the first run through the
hour lies before the change and the second after it, in a file that runs backwards too. Where nothing tells, it is the
first. When clocks go forward, times are skipped; one of these is taken by the offset before the change, as one of a
device that was not put forward yet (the meaning of fold = 0 in PEP 495, in both cases).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from statistics import median
from typing import Literal
from zoneinfo import ZoneInfo

from ...records.instants import EPOCH

MILLISECOND = timedelta(milliseconds=1)
NAIVE_EPOCH = datetime(1970, 1, 1)
QUARTER = timedelta(minutes=15)
STEPS_KEPT = 5
Kind = Literal["plain", "repeated", "skipped"]


@dataclass(frozen=True)
class Place:
    """How far the reading of a file has come: its last instant, and the last steps from one to the next, in ms.

    Steps are below zero in a file that runs from the newest to the oldest.
    """

    last_ms: int | None = None
    steps_ms: tuple[int, ...] = ()

    def after(self, at_ms: int) -> Place:
        """The place once the reading of this instant has been read; one of the same instant is no step."""
        if self.last_ms is None or at_ms == self.last_ms:
            return Place(at_ms, self.steps_ms)
        return Place(at_ms, (*self.steps_ms, at_ms - self.last_ms)[-STEPS_KEPT:])

    def expected_ms(self) -> float | None:
        """When the next reading would be, if it follows as they usually do; one pause among them does not count."""
        if self.last_ms is None or not self.steps_ms:
            return self.last_ms
        return self.last_ms + median(self.steps_ms)


class TankClock:
    """Turns the times of one file into instants, one after the other."""

    def __init__(self, zone: ZoneInfo, place: Place) -> None:
        self.place = place
        # Zones change their offset at whole quarters of an hour, so one answer serves for all times of a quarter.
        self._offsets = lru_cache(maxsize=4096)(lambda quarter: _offsets(quarter, zone))

    def instant_ms(self, at: datetime) -> tuple[int, Kind]:
        """The instant in ms since 1970 UTC of the next time in the file; what kind of time it is by the clock."""
        at_ms, kind = self._instant(at)
        self.place = self.place.after(at_ms)
        return at_ms, kind

    def _instant(self, at: datetime) -> tuple[int, Kind]:
        if at.tzinfo is not None:
            return (at - EPOCH) // MILLISECOND, "plain"
        wall = (at - NAIVE_EPOCH) // MILLISECOND
        first, second = self._offsets(at - (at - NAIVE_EPOCH) % QUARTER)
        if first == second:
            return wall - first, "plain"
        if first < second:
            return wall - first, "skipped"
        expected = self.place.expected_ms()
        is_second = expected is not None and abs(wall - second - expected) < abs(wall - first - expected)
        return wall - (second if is_second else first), "repeated"


def _offsets(quarter: datetime, zone: ZoneInfo) -> tuple[int, int]:
    """What a local time is off from UTC, in ms, read as the first and as the second of its kind."""
    first, second = (quarter.replace(tzinfo=zone, fold=fold).utcoffset() or timedelta(0) for fold in (0, 1))
    return first // MILLISECOND, second // MILLISECOND
