"""How much live food young want by their age, and the cysts and the time that it takes to have it.

Yields (nauplii a gram) and T90 as Van Stappen 1996 defines them, in FAO Fisheries Technical Paper 361, chapter 4.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

BRINE_SHRIMP = "brine_shrimp"


@dataclass(frozen=True)
class Tin:
    """What is known of a tin of cysts: its yield and times, and the measure that cysts are taken out with."""

    nauplii_per_gram: float | None = None
    hours_to_hatch: float | None = None
    hours_to_enrich: float | None = None
    measure: str | None = None
    measure_g: float | None = None


UNKNOWN_TIN = Tin()


def cysts_g(nauplii: float, lost_share: float, nauplii_per_gram: float) -> float:
    """Grams of cysts for so many nauplii: g = n / ((1 − loss)·HE).

    `ValueError` for a loss that is not below 1, or where a gram yields nothing.
    """
    if not 0 <= lost_share < 1 or not nauplii_per_gram > 0:
        raise ValueError("the share lost must be below 1, and a gram must yield nauplii")
    return nauplii / ((1 - lost_share) * nauplii_per_gram)


def nauplii_a_day(fry: float, age_days: float, from_days: Sequence[float], nauplii_each: Sequence[float]) -> float:
    """Nauplii that so many young want a day: the ration of the last step that their age has reached."""
    reached = [each for start, each in zip(from_days, nauplii_each, strict=True) if start <= age_days]
    return fry * (reached[-1] if reached else nauplii_each[0])


def set_going_at(
    meal_at: datetime, hours_to_hatch: float, hours_to_enrich: float, handling_hours: float
) -> datetime:
    """When to set a hatch going for a meal: T90 of the tin, the enrichment and the handling before it."""
    return meal_at - timedelta(hours=hours_to_hatch + hours_to_enrich + handling_hours)
