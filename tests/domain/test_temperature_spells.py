"""Spells of water too warm or too cold: when they begin, that they do not flicker, and when they are over."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from holdwatch.domain.temperature import Point, spell_at

START = datetime(2026, 7, 3, 6, tzinfo=UTC)
LOW, HIGH = 25.0, 31.0


def points(*celsius: float, every_h: float = 1.0) -> list[Point]:
    return [Point(START + timedelta(hours=every_h * n), value) for n, value in enumerate(celsius)]


def spell(readings: list[Point], later_h: float = 0.1):
    return spell_at(readings, LOW, HIGH, readings[-1].at + timedelta(hours=later_h))


@pytest.mark.parametrize(
    ("celsius", "beyond"), [(31.01, "warm"), (31.0, None), (28.0, None), (25.0, None), (24.99, "cold")]
)
def test_a_spell_begins_beyond_the_range_and_not_at_its_edge(celsius, beyond):
    found = spell(points(28, celsius))
    assert (found.beyond if found else None) == beyond
    if found:
        assert found.since == found.last_at == START + timedelta(hours=1)


def test_water_that_hangs_about_the_edge_is_one_spell():
    readings = points(31.1, 31.2, 30.9, 30.6, 31.1, 30.51, 31.3)
    for end in range(1, 8):
        found = spell(readings[:end])
        assert (found.since, found.last_at) == (START, readings[end - 1].at)


def test_half_a_degree_inside_ends_it_and_the_next_one_is_another():
    assert spell(points(31.1, 31.2, 30.5)) is None
    assert spell(points(24.8, 24.7, 25.5)) is None
    assert spell(points(24.8, 24.7, 25.49)).beyond == "cold"
    assert spell(points(31.1, 31.2, 30.5, 31.1, 31.2)).since == START + timedelta(hours=3)


def test_from_too_warm_to_too_cold_is_another_spell():
    found = spell(points(31.1, 31.2, 24.0, 23.9))
    assert (found.beyond, found.since) == ("cold", START + timedelta(hours=2))


@pytest.mark.parametrize(("later_h", "lasts"), [(23.9, True), (24.0, False)])
def test_after_a_day_of_silence_nobody_knows(later_h, lasts):
    assert (spell(points(31.1, 31.2), later_h) is not None) == lasts


def test_silence_within_ends_it_too():
    late = [Point(START + timedelta(hours=hours), 31.1) for hours in (25, 24.9)]
    assert spell([*points(31.1, 31.2), late[0]]).since == late[0].at
    assert spell([*points(31.1, 31.2), late[1]]).since == START
    inside = Point(START + timedelta(hours=25), 30.8)
    assert spell([*points(31.1, 31.2), inside]) is None


def test_no_readings_are_no_spell():
    assert spell_at([], LOW, HIGH, START) is None
