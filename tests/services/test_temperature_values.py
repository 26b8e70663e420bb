"""Temperatures as cells write them, against the conversions of NIST and the limits of any water."""

from __future__ import annotations

import pytest

from holdwatch.services.temperature.values import BadTemperature, checked_celsius, read_celsius


@pytest.mark.parametrize(
    ("text", "unit", "millidegrees"),
    [
        ("26.1", "C", 26100), ("26,1", "C", 26100), ("26", "C", 26000), ("+26.1", "C", 26100), ("-0.5", "C", -500),
        ("\u22120,5", "C", -500), (".5", "C", 500), ("26.", "C", 26000), ("26.1 °C", "C", 26100),
        ("26,1°C", "C", 26100), ("26.1C", "C", 26100), ("26.1°", "C", 26100), (" 26.1 ", "C", 26100),
        ("26.06251", "C", 26063),
        # °C = (°F - 32) / 1.8 and °C = K - 273.15 (NIST SP 811, B.8).
        ("32", "F", 0), ("77", "F", 25000), ("78.8 °F", "F", 26000), ("80.1F", "F", 26722), ("23", "F", -5000),
        ("113", "F", 45000), ("273.15", "K", 0), ("299,25 K", "K", 26100),
    ],
)  # fmt: skip
def test_these_are_read(text, unit, millidegrees):
    assert read_celsius(text, unit) == millidegrees


@pytest.mark.parametrize(
    ("text", "unit", "why"),
    [
        ("", "C", "no temperature"), ("   ", "C", "no temperature"), ("---", "C", "is no temperature"),
        ("NaN", "C", "is no temperature"), ("inf", "C", "is no temperature"), ("1e2", "C", "is no temperature"),
        ("26.1.2", "C", "is no temperature"), ("1,234.5", "C", "is no temperature"),
        ("2_6", "C", "is no temperature"), ("26.1 °F", "C", "it says F, and the column is read as C"),
        ("26.1C", "F", "it says C"), ("45.01", "C", "45.01 °C is outside \u22125 to 45 °C"), ("-5.1", "C", "outside"),
        ("113.1", "F", "45.0556 °C is outside"), ("22", "F", "outside"), ("85", "C", "outside"),
        ("9" * 400, "C", "outside"), ("26.1", "K", "outside"),
    ],
)  # fmt: skip
def test_these_are_refused_with_their_reason(text, unit, why):
    with pytest.raises(BadTemperature) as bad:
        read_celsius(text, unit)
    assert why in str(bad.value) and len(str(bad.value)) < 80


@pytest.mark.parametrize("value", [float("nan"), float("inf"), 45.0006, -5.0006, 1e300])
def test_no_water_is_like_this(value):
    with pytest.raises(BadTemperature):
        checked_celsius(value)
    assert [checked_celsius(edge) for edge in (-5, 45, 45.0004)] == [-5000, 45000, 45000]
