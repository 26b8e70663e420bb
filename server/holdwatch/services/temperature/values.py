"""Temperatures as they are written, in °C, °F or K, and as whole thousandths of a degree Celsius."""

from __future__ import annotations

import re

COLDEST_C, WARMEST_C = -5, 45
UNITS = ("C", "F", "K")
NUMBER = re.compile(r"([+\-\u2212]?(?:\d+(?:[.,]\d*)?|[.,]\d+))\s*(?:(?:°|º|deg)?\s*([CFK])?|°)")
PLAIN = re.compile(r"[+-]?\d{1,6}(?:\.\d{0,12})?")


class BadTemperature(ValueError):
    """A text or number that is no temperature of water; the message says why, without a full stop."""


def read_celsius(text: str, unit: str) -> int:
    """The temperature that a cell holds, in thousandths of a degree Celsius; decimal point or comma."""
    if PLAIN.fullmatch(text):
        return checked_celsius(celsius(float(text), unit))
    found = NUMBER.fullmatch(text.strip())
    if found is None:
        raise BadTemperature(f"{text.strip()[:20]!r} is no temperature" if text.strip() else "no temperature")
    number, own_unit = found.groups()
    if own_unit and own_unit != unit:
        raise BadTemperature(f"it says {own_unit}, and the column is read as {unit}")
    return checked_celsius(celsius(float(number.replace(",", ".").replace("\u2212", "-")), unit))


def celsius(value: float, unit: str) -> float:
    """The temperature in °C: °C = (°F - 32) / 1.8 and °C = K - 273.15 (NIST SP 811, B.8)."""
    if unit == "F":
        return (value - 32) / 1.8
    return value - 273.15 if unit == "K" else value


def checked_celsius(value: float) -> int:
    """Thousandths of a degree; BadTemperature where no water of a tank can be so."""
    # What is no number is not between them either.
    if not COLDEST_C <= round(value, 3) <= WARMEST_C:
        said = f"{value:.6g} °C" if abs(value) < 1e6 else "this"
        raise BadTemperature(f"{said} is outside \u2212{-COLDEST_C} to {WARMEST_C} °C")
    return round(value * 1000)
