"""Stamps of a hybrid logical clock as text that sorts (Kulkarni et al. 2014, fig. 5).

`1764061800000.0000.ab12cd34`: 13 digits of milliseconds, 4 hexadecimal digits of counter, 8 characters
of device. Greater text is the later stamp, on every machine and in both databases. Devices make stamps, the server
only reads them; `tick` says how they are made, for the vectors that both sides run.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

STAMP = re.compile(r"([0-9]{13})\.([0-9a-f]{4})\.([0-9a-z]{8})")
DEVICE = re.compile(r"[0-9a-z]{8}")
LENGTH = 27
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
        raise BadStamp(f"{str(text)[:40]!a} is no stamp")
    return Stamp(int(match[1]), int(match[2], 16), match[3])


def checked_stamp(text: object) -> str:
    """The text itself; BadStamp if it is no stamp."""
    if not isinstance(text, str) or len(text) != LENGTH or not _is_stamp(text):
        raise BadStamp(f"{str(text)[:40]!a} is no stamp")
    return text


@lru_cache(4096)
def _is_stamp(text: str) -> bool:
    # All fields of one writing bear the same stamp; what is kept here is never longer than one.
    return STAMP.fullmatch(text) is not None


def tick(latest: Stamp | None, clock_ms: int, device: str) -> Stamp:
    """The stamp of a write: never behind the clock, always later than `latest`, the latest made or seen here."""
    if latest is None or clock_ms > latest.milliseconds:
        return Stamp(clock_ms, 0, device)
    if latest.counter >= COUNTER_LIMIT:
        # A full counter borrows the next millisecond, so that stamps of one device never repeat.
        return Stamp(latest.milliseconds + 1, 0, device)
    return Stamp(latest.milliseconds, latest.counter + 1, device)
