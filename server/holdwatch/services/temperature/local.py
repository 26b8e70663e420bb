"""Times by the clock of a tank become instants, in the order in which a file tells them.

When clocks go back, times come twice. There the file itself tells which one is meant: of the two instants that one
is taken which follows the reading before it as its readings usually follow each other. So the first run through the
hour lies before the change and the second after it, in a file that runs backwards too. Where nothing tells, it is the
first. When clocks go forward, times are skipped; one of these is taken by the offset before the change, as one of a
device that was not put forward yet (the meaning of fold = 0 in PEP 495, in both cases).
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from datetime import datetime, timedelta
from statistics import median
from typing import Literal
from zoneinfo import ZoneInfo

from ...records.instants import EPOCH

MILLISECOND = timedelta(milliseconds=1)
NAIVE_EPOCH = datetime(1970, 1, 1)
QUARTER = timedelta(minutes=15)
QUARTER_MS = QUARTER // MILLISECOND
STEPS_KEPT = 5
Kind = Literal["plain", "repeated", "skipped"]


@dataclass(frozen=True)
class Place:
    """How far the reading of a file has come: its last instant, and the last steps from one to the next, in ms.

    Steps are below zero in a file that runs from the newest to the oldest.
    """

    last_ms: int | None = None
    steps_ms: tuple[int, ...] = ()


class TankClock:
    """Turns the times of one file into instants, one after the other."""

    def __init__(self, zone: ZoneInfo, place: Place) -> None:
        self._zone = zone
        self._last_ms = place.last_ms
        self._steps_ms = deque(place.steps_ms, maxlen=STEPS_KEPT)
        self._known: dict[int, tuple[int, int]] = {}

    @property
    def place(self) -> Place:
        """How far it has come."""
        return Place(self._last_ms, tuple(self._steps_ms))

    def instant_ms(self, at: datetime) -> tuple[int, Kind]:
        """The instant in ms since 1970 UTC of the next time in the file; what kind of time it is by the clock."""
        at_ms, kind = self._instant(at)
        # A reading of the same instant is no step.
        if self._last_ms is not None and at_ms != self._last_ms:
            self._steps_ms.append(at_ms - self._last_ms)
        self._last_ms = at_ms
        return at_ms, kind

    def _instant(self, at: datetime) -> tuple[int, Kind]:
        if at.tzinfo is not None:
            return (at - EPOCH) // MILLISECOND, "plain"
        wall = (at - NAIVE_EPOCH) // MILLISECOND
        first, second = self._offsets(wall // QUARTER_MS)
        if first == second:
            return wall - first, "plain"
        if first < second:
            return wall - first, "skipped"
        expected = self._expected_ms()
        is_second = expected is not None and abs(wall - second - expected) < abs(wall - first - expected)
        return wall - (second if is_second else first), "repeated"

    def _expected_ms(self) -> float | None:
        """When the next reading would be, if it follows as they usually do; one pause among them does not count."""
        if self._last_ms is None or not self._steps_ms:
            return self._last_ms
        return self._last_ms + median(self._steps_ms)

    def _offsets(self, quarter: int) -> tuple[int, int]:
        """What a local time is off from UTC, in ms, read as the first and as the second of its kind.

        Zones change their offset at whole quarters of an hour, so one answer serves for all times of a quarter.
        """
        known = self._known.get(quarter)
        if known is None:
            at = (NAIVE_EPOCH + quarter * QUARTER).replace(tzinfo=self._zone)
            first, second = (at.replace(fold=fold).utcoffset() or timedelta(0) for fold in (0, 1))
            known = self._known[quarter] = (first // MILLISECOND, second // MILLISECOND)
        return known
