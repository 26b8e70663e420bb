"""The readings of one thermometer hour by hour: those that passed, and apart from them those that are spikes."""

from dataclasses import dataclass

import numpy as np

HOUR_MS = 3_600_000


@dataclass(frozen=True)
class Part:
    """Some readings of one hour: how many, the mean of their instants in ms, and what they say in °C."""

    n: int
    at_ms: int
    mean_c: float
    low_c: float
    high_c: float


@dataclass(frozen=True)
class Hour:
    """One hour of one thermometer, numbered from 1970 UTC; a part without readings is None."""

    number: int
    passed: Part | None
    spikes: Part | None

    def whole(self) -> Part | None:
        """All readings of the hour, spikes among them."""
        return _joined(self.passed, self.spikes) if self.passed and self.spikes else self.passed or self.spikes


def hourly(at_ms: np.ndarray, celsius: np.ndarray, is_spike: np.ndarray) -> list[Hour]:
    """Return the hours that have readings, in order; instants in ms, rising, temperatures in °C, all of shape (n)."""
    passed = _parts(at_ms[~is_spike], celsius[~is_spike])
    jumped = _parts(at_ms[is_spike], celsius[is_spike])
    return [Hour(number, passed.get(number), jumped.get(number)) for number in sorted(passed.keys() | jumped.keys())]


def _parts(at_ms: np.ndarray, celsius: np.ndarray) -> dict[int, Part]:
    if not at_ms.size:
        return {}
    hour, first, count = np.unique(at_ms // HOUR_MS, return_index=True, return_counts=True)
    # Sums of milliseconds since 1970 would lose their last digits.
    within = np.add.reduceat(at_ms % HOUR_MS, first) / count
    columns = (
        hour.tolist(),
        count.tolist(),
        np.rint(hour * HOUR_MS + within).astype(np.int64).tolist(),
        (np.add.reduceat(celsius, first) / count).tolist(),
        np.minimum.reduceat(celsius, first).tolist(),
        np.maximum.reduceat(celsius, first).tolist(),
    )
    return {number: Part(*part) for number, *part in zip(*columns, strict=True)}


def _joined(one: Part, other: Part) -> Part:
    n = one.n + other.n
    return Part(
        n=n,
        at_ms=(one.n * one.at_ms + other.n * other.at_ms) // n,
        mean_c=(one.n * one.mean_c + other.n * other.mean_c) / n,
        low_c=min(one.low_c, other.low_c),
        high_c=max(one.high_c, other.high_c),
    )
