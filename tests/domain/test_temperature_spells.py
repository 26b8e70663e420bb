"""Spells of water too warm or too cold: when they begin, that they do not flicker, and when they are over."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from holdwatch.domain.temperature import Felt, spell_at

START = datetime(2026, 7, 3, 6, tzinfo=UTC)
LOW, HIGH = 25.0, 31.0


def felt(*celsius: float, every_h: float = 1.0, typed: bool = False) -> list[Felt]:
    return [Felt(START + timedelta(hours=every_h * n), value, typed) for n, value in enumerate(celsius)]


def spell(readings: list[Felt], later_h: float = 0.1):
    return spell_at(readings, LOW, HIGH, readings[-1].at + timedelta(hours=later_h))


def test_it_takes_two_readings_in_a_row_half_an_hour_apart():
    assert spell(felt(26, 31.1)) is None
    assert spell(felt(26, 31.1, 31.2, every_h=0.49)) is None
    found = spell(felt(26, 31.1, 31.2, every_h=0.5))
    assert (found.beyond, found.since) == ("warm", START + timedelta(hours=0.5))
    assert found.last_at == START + timedelta(hours=1)
    assert spell(felt(31.1, 30.9, 31.1)) is None


def test_a_typed_reading_is_believed_at_once():
    assert spell(felt(31.1, typed=True)).beyond == "warm"
    assert spell(felt(24.9, typed=True)).beyond == "cold"
    assert spell(felt(25.0, 31.0, typed=True)) is None


def test_water_that_hangs_about_the_edge_is_one_spell():
    readings = felt(31.1, 31.2, 30.9, 30.6, 31.1, 30.51, 31.3)
    assert spell(readings).since == START
    for end in range(2, 8):
        assert spell(readings[:end]).since == START, end


def test_half_a_degree_inside_ends_it_and_the_next_one_is_another():
    assert spell(felt(31.1, 31.2, 30.5)) is None
    assert spell(felt(24.8, 24.7, 25.5)) is None
    assert spell(felt(24.8, 24.7, 25.49)).beyond == "cold"
    assert spell(felt(31.1, 31.2, 30.5, 31.1, 31.2)).since == START + timedelta(hours=3)


def test_from_too_warm_to_too_cold_is_another_spell():
    found = spell(felt(31.1, 31.2, 24.0, 23.9))
    assert (found.beyond, found.since) == ("cold", START + timedelta(hours=2))
    assert spell(felt(31.1, 31.2, 24.0)) is None


@pytest.mark.parametrize(("later_h", "lasts"), [(23.9, True), (24.0, False)])
def test_after_a_day_of_silence_nobody_knows(later_h, lasts):
    assert (spell(felt(31.1, 31.2), later_h) is not None) == lasts


def test_silence_within_ends_it_too():
    assert spell(felt(31.1, 31.2) + [Felt(START + timedelta(hours=25), 31.1, False)]) is None
    assert spell(felt(31.1, 31.2) + [Felt(START + timedelta(hours=24.9), 31.1, False)]).since == START


def test_no_readings_are_no_spell():
    assert spell_at([], LOW, HIGH, START) is None
