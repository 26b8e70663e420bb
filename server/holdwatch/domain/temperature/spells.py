"""Spells in which the water is warmer or colder than a species is known to live in.

A spell begins with two readings in a row beyond the range, half an hour apart or more, or with a single one that a
person typed. It ends with the first reading that lies half a degree inside the range: water that hangs about the
edge is one spell, and people are told of it once. After a day without readings nobody knows, and it ends too. The
half hour, the half degree and the day are assumptions.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Literal, NamedTuple

BACK_INSIDE_C = 0.5
LASTING = timedelta(minutes=30)
LONGEST_SILENCE = timedelta(hours=24)
Beyond = Literal["warm", "cold"]


class Felt(NamedTuple):
    """One temperature of the tank, and whether a person typed it."""

    at: datetime
    celsius: float
    is_typed: bool


@dataclass(frozen=True)
class Spell:
    """Water beyond the range on one side, since when, and its last reading; a single reading has not begun one yet."""

    beyond: Beyond
    since: datetime
    last_at: datetime
    has_begun: bool


def spell_at(felt: Iterable[Felt], low_c: float, high_c: float, now: datetime) -> Spell | None:
    """Return the spell that lasts at `now`, from readings in order of time; None where there is none."""
    spell: Spell | None = None
    for reading in felt:
        spell = _after(spell, reading, low_c, high_c)
    return spell if spell and spell.has_begun and now - spell.last_at < LONGEST_SILENCE else None


def _after(spell: Spell | None, reading: Felt, low_c: float, high_c: float) -> Spell | None:
    """The spell once this reading has come in."""
    if spell and _is_over(spell, reading, low_c, high_c):
        spell = None
    side = _side(reading.celsius, low_c, high_c)
    if side is None:
        return replace(spell, last_at=reading.at) if spell and spell.has_begun else None
    since, has_begun = (spell.since, spell.has_begun) if spell else (reading.at, False)
    return Spell(side, since, reading.at, has_begun or reading.is_typed or reading.at - since >= LASTING)


def _side(celsius: float, low_c: float, high_c: float) -> Beyond | None:
    if celsius > high_c:
        return "warm"
    return "cold" if celsius < low_c else None


def _is_over(spell: Spell, reading: Felt, low_c: float, high_c: float) -> bool:
    if reading.at - spell.last_at >= LONGEST_SILENCE:
        return True
    if spell.beyond == "warm":
        return reading.celsius <= high_c - BACK_INSIDE_C
    return reading.celsius >= low_c + BACK_INSIDE_C
