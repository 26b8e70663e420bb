"""The nights to choose from, and what catching the male on each of them saves."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from . import numbers
from .evidence import Brood
from .truth import Course, states


@dataclass(frozen=True)
class Night:
    """A night: the date of the evening on which it begins, and the catch's instant in days since 1970-01-01 UTC."""

    date: str
    at: float


def _local(day: date, clock: time, zone: ZoneInfo) -> float:
    """The instant of a local time; fold 0 takes the offset before a gap, and the first of two."""
    return datetime.combine(day, clock, zone).astimezone(UTC).timestamp() / 86400.0


def _first_after(clock: time, after: float, day: date, zone: ZoneInfo) -> float:
    """The first instant with this local time after an instant, searched from the day before."""
    candidates = (_local(day + timedelta(days=n), clock, zone) for n in range(-1, 4))
    return next(at for at in candidates if at > after + 1e-9)


def list_nights(brood: Brood) -> list[Night]:
    """Night 0, the first whose lamps-on is still to come, at the later of now and its instant, and the 20 after it."""
    zone = ZoneInfo(brood.tank["zone"])
    lamps_out, lamps_on = (time.fromisoformat(brood.tank[key]) for key in ("lamps_out", "lamps_on"))
    day = datetime.fromtimestamp(brood.now * 86400.0, zone).date() - timedelta(days=3)
    nights: list[Night] = []
    while len(nights) < numbers.NIGHTS:
        out = _first_after(lamps_out, _local(day, time(12), zone), day, zone)
        if _first_after(lamps_on, out, day, zone) > brood.now:
            at = out + numbers.NIGHT_DELAY_MINUTES / 1440.0
            nights.append(Night(day.isoformat(), max(brood.now, at)))
        day += timedelta(days=1)
    return nights


def saved(brood: Brood, broods: Course, loss: np.ndarray, at: float) -> tuple[np.ndarray, np.ndarray]:
    """Share of the clutch (n,) that a catch at an instant saves: of the held, and of those let go since now."""
    now = states(broods, loss, at)
    age = at - broods.hatched
    out = broods.released_last - broods.released
    let_go = np.clip((at - broods.released) / out, 0, 1)
    let_go_by_now = np.clip((brood.now - broods.released) / out, 0, 1)
    still_in = now["held_young"] + now["releasing"] * (1 - let_go)
    held = (
        still_in * (0.85 + 0.10 * np.minimum(1.0, age / 3.0))
        + now["eyed"] * numbers.SAVED_EYED
        + now["eggs"] * numbers.SAVED_EGGS
    )
    free = np.where(now["lost"], 0.0, let_go - let_go_by_now) * numbers.SAVED_FREE[brood.tank["company"]]
    return held, free


def choose(table: list[dict], held: list[float]) -> dict | None:
    """The earliest night within 0.005 of the best; none if nothing held is worth 0.02 on any night."""
    if not table or max(held) < numbers.NOTHING_LEFT:
        return None
    best = max(row["saved"] for row in table)
    row = next(row for row in table if row["saved"] >= best - numbers.NO_GAIN)
    return {key: row[key] for key in ("night", "at", "saved")}
