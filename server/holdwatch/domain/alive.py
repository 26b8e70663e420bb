"""How many young are alive, by what people counted and what they found dead."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class Count:
    """One count: how many were alive, or how many were found dead."""

    at: datetime
    alive: int | None = None
    dead: int | None = None


def alive_by(counts: Sequence[Count], at: datetime) -> int | None:
    """What the last count until `at` leaves after those found dead since; None while nobody has counted."""
    known = sorted((count for count in counts if count.at <= at), key=lambda count: count.at)
    last = max((n for n, count in enumerate(known) if count.alive is not None), default=None)
    if last is None:
        return None
    dead = sum(count.dead or 0 for count in known[last + 1 :])
    return max(0, (known[last].alive or 0) - dead)
