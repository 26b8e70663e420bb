"""Hours of one thermometer: means, extremes and instants, with spikes kept apart."""

from __future__ import annotations

import statistics

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from holdwatch.domain.temperature import Part, hourly

HOUR = 3_600_000
FIRST = 490_000


def test_an_hour_is_the_plain_mean_of_its_readings_at_the_mean_of_their_instants():
    at_ms = np.array([0, 600_000, 3_000_000, HOUR, HOUR + 1000]) + FIRST * HOUR
    hours = hourly(at_ms, np.array([26.0, 26.4, 26.5, 25.0, 25.5]), np.zeros(5, dtype=bool))
    assert [hour.number for hour in hours] == [FIRST, FIRST + 1]
    assert hours[0].passed == Part(3, FIRST * HOUR + 1_200_000, 26.3, 26.0, 26.5)
    assert hours[1].passed == Part(2, (FIRST + 1) * HOUR + 500, 25.25, 25.0, 25.5)
    assert hours[0].spikes is None


def test_spikes_are_kept_apart_and_the_whole_can_be_had_again():
    at_ms = np.array([0, 1_200_000, 2_400_000]) + FIRST * HOUR
    (hour,) = hourly(at_ms, np.array([26.0, 32.0, 26.0]), np.array([False, True, False]))
    assert hour.passed == Part(2, FIRST * HOUR + 1_200_000, 26.0, 26.0, 26.0)
    assert hour.spikes == Part(1, FIRST * HOUR + 1_200_000, 32.0, 32.0, 32.0)
    assert hour.whole() == Part(3, FIRST * HOUR + 1_200_000, 28.0, 26.0, 32.0)
    (alone,) = hourly(at_ms, np.array([31.0, 32.0, 33.0]), np.ones(3, dtype=bool))
    assert alone.passed is None and alone.whole() == alone.spikes
    assert hourly(at_ms[:0], np.zeros(0), np.zeros(0, dtype=bool)) == []


READING = st.tuples(st.integers(0, 5 * HOUR), st.integers(-5000, 45000))


@given(st.lists(READING, min_size=1, max_size=40, unique_by=lambda reading: reading[0]))
def test_no_reading_is_lost_or_counted_twice(readings):
    readings.sort()
    at_ms = np.array([at for at, _ in readings]) + FIRST * HOUR
    celsius = np.array([value / 1000 for _, value in readings])
    hours = hourly(at_ms, celsius, celsius > 30)
    for hour in hours:
        whole = hour.whole()
        own = [value / 1000 for at, value in readings if at // HOUR + FIRST == hour.number]
        assert whole is not None and whole.n == len(own)
        assert abs(whole.mean_c - statistics.fmean(own)) < 1e-9
        assert (whole.low_c, whole.high_c) == (min(own), max(own))
    assert sum(hour.whole().n for hour in hours) == len(readings)
