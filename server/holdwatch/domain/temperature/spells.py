"""Spells in which the water is warmer or colder than a species is known to live in.

A spell begins with the first reading beyond the range: the mean of a whole hour, or what a person typed. It ends with
the first that lies half a degree inside: water that hangs about the edge is one spell, and people are told of it once.
After a day without readings nobody knows, and it ends too. The half degree and the day are assumptions.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from .water import Point

BACK_INSIDE_C = 0.5
LONGEST_SILENCE = timedelta(hours=24)
Beyond = Literal["warm", "cold"]


@dataclass(frozen=True)
class Spell:
    """Water beyond the range on one side, since when, and its last reading."""

    beyond: Beyond
    since: datetime
    last_at: datetime


def spell_at(points: Iterable[Point], low_c: float, high_c: float, now: datetime) -> Spell | None:
    """Return the spell that lasts at `now`, from readings in order of time; None where there is none."""
    spell: Spell | None = None
    for point in points:
        spell = _after(spell, point, low_c, high_c)
    return spell if spell and now - spell.last_at < LONGEST_SILENCE else None


def _after(spell: Spell | None, point: Point, low_c: float, high_c: float) -> Spell | None:
    """The spell once this reading has come in."""
    side = _side(point.celsius, low_c, high_c)
    if spell and point.at - spell.last_at < LONGEST_SILENCE and _goes_on(spell, point.celsius, low_c, high_c):
        return Spell(spell.beyond, spell.since, point.at)
    return Spell(side, point.at, point.at) if side else None


def _side(celsius: float, low_c: float, high_c: float) -> Beyond | None:
    if celsius > high_c:
        return "warm"
    return "cold" if celsius < low_c else None


def _goes_on(spell: Spell, celsius: float, low_c: float, high_c: float) -> bool:
    if spell.beyond == "warm":
        return celsius > high_c - BACK_INSIDE_C
    return celsius < low_c + BACK_INSIDE_C
