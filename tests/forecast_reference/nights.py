"""The nights to choose from, and what catching the male on each of them saves."""

from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from . import numbers
from .evenings import Evening, evening, local_date
from .evidence import Brood
from .truth import Course, states


@dataclass(frozen=True)
class Night:
    """A night: the dark of an evening, and the catch's instant in days since 1970-01-01 UTC."""

    evening: Evening
    at: float


def list_nights(brood: Brood) -> list[Night]:
    """Night 0, the first whose lamps-on is still to come, at the later of now and its instant, and the 20 after it."""
    day = local_date(brood.tank, brood.now) - timedelta(days=3)
    nights: list[Night] = []
    while len(nights) < numbers.NIGHTS:
        dark = evening(brood.tank, day)
        if dark.lamps_on > brood.now:
            at = dark.lamps_out + numbers.NIGHT_DELAY_MINUTES / 1440.0
            nights.append(Night(dark, max(brood.now, at)))
        day += timedelta(days=1)
    return nights


def saved(brood: Brood, broods: Course, loss: np.ndarray, night: Night) -> tuple[np.ndarray, np.ndarray]:
    """Share of the clutch (n,) that acting on a night saves: of what is held, and of what was let go since now."""
    if brood.species.hatches_after_dark():
        return _saved_at_the_hatch(brood, broods, loss, night.evening)
    return _saved_from_the_mouth(brood, broods, loss, night.at)


def hatches(brood: Brood, broods: Course, loss: np.ndarray, dark: Evening) -> np.ndarray:
    """Whether (n,) an unlost clutch hatches in the dark of an evening; what has hatched in one under way is in it."""
    return (loss >= broods.hatched) & (broods.hatched >= dark.lamps_out) & (broods.hatched < dark.lamps_on)


def _saved_at_the_hatch(
    brood: Brood, broods: Course, loss: np.ndarray, dark: Evening
) -> tuple[np.ndarray, np.ndarray]:
    after = states(broods, loss, dark.lamps_on)
    since = min(brood.now, list_nights(brood)[0].evening.lamps_out)
    earlier = (loss >= broods.hatched) & (broods.hatched > since) & (broods.hatched < dark.lamps_out)
    eggs = after["eggs"] | after["eyed"]
    free = numbers.SAVED_FREE[brood.tank["company"]]
    # Alone, what hatches on a later night is as safe as what hatched on an earlier one.
    later = free if brood.tank["company"] == "alone" else numbers.SAVED_EGGS
    held = numbers.SAVED_HATCHING * hatches(brood, broods, loss, dark) + later * eggs
    return held, free * earlier


def _saved_from_the_mouth(
    brood: Brood, broods: Course, loss: np.ndarray, at: float
) -> tuple[np.ndarray, np.ndarray]:
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
