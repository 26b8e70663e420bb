"""Stamps of a hybrid logical clock as text that sorts (Kulkarni et al. 2014, fig. 5).

`1764061800000.0000.ab12cd34`: 13 digits of milliseconds, 4 hexadecimal digits of counter, 8 characters
of device. Greater text is the later stamp, on every machine and in both databases.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

STAMP = re.compile(r"([0-9]{13})\.([0-9a-f]{4})\.([0-9a-z]{8})")
DEVICE = re.compile(r"[0-9a-z]{8}")
COUNTER_LIMIT = 0xFFFF


class BadStamp(ValueError):
    """A text that is no stamp."""


@dataclass(frozen=True, order=True)
class Stamp:
    """One tick of a device's clock."""

    milliseconds: int
    counter: int
    device: str

    def __str__(self) -> str:
        return f"{self.milliseconds:013d}.{self.counter:04x}.{self.device}"


def parse_stamp(text: object) -> Stamp:
    """Read a stamp; BadStamp if it is none."""
    match = STAMP.fullmatch(text) if isinstance(text, str) else None
    if match is None:
        raise BadStamp(f"{str(text)[:40]!r} is no stamp")
    return Stamp(int(match[1]), int(match[2], 16), match[3])


def tick(last: Stamp | None, clock_ms: int, device: str) -> Stamp:
    """The stamp of a write: never behind the clock, always behind nothing stamped before."""
    if last is None or clock_ms > last.milliseconds:
        return Stamp(clock_ms, 0, device)
    return _next(last.milliseconds, last.counter, device)


def meet(last: Stamp | None, seen: Stamp, clock_ms: int, device: str) -> Stamp:
    """The clock after seeing another device's stamp: later than all three."""
    newest = max(clock_ms, seen.milliseconds, last.milliseconds if last else 0)
    counters = [s.counter for s in (last, seen) if s and s.milliseconds == newest]
    if not counters:
        return Stamp(newest, 0, device)
    return _next(newest, max(counters), device)


def _next(ms: int, counter: int, device: str) -> Stamp:
    # A full counter borrows the next millisecond, so that stamps of one device never repeat.
    return Stamp(ms + 1, 0, device) if counter >= COUNTER_LIMIT else Stamp(ms, counter + 1, device)
