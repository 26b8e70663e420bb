"""Spikes against the published definition of the Hampel filter, written out reading by reading."""

from __future__ import annotations

import statistics

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import median_abs_deviation

from holdwatch.domain.temperature import REACH, spikes

MINUTE = 60_000
HOUR = 60 * MINUTE
START = 1_764_000_000_000 // HOUR * HOUR


def by_definition(at_ms: list[int], celsius: list[float]) -> list[bool]:
    """Hampel 1974 and Pearson 2002: |x - median| > 3 * 1.4826 * MAD, window of 6 on either side within 12 h, with the
    least distance of half a degree and of a step and a half; for readings ten minutes apart or more."""
    found = []
    for i, value in enumerate(celsius):
        near = range(max(0, i - 6), min(len(celsius), i + 7))
        window = [celsius[j] for j in near if abs(at_ms[j] - at_ms[i]) <= 12 * HOUR]
        middle = statistics.median(window)
        spread = 1.4826 * statistics.median(abs(x - middle) for x in window)
        shown = sorted(set(window))
        step = min([b - a for a, b in zip(shown, shown[1:], strict=False)] + [1.0])
        found.append(len(window) >= 5 and abs(value - middle) > max(3 * spread, 0.5, 1.5 * step))
    return found


def found(at_ms, celsius) -> list[bool]:
    return spikes(np.array(at_ms, dtype=np.int64), np.array(celsius, dtype=float)).tolist()


def every(minutes: float, count: int) -> list[int]:
    return [START + round(number * minutes * MINUTE) for number in range(count)]


def test_the_scale_is_the_one_that_makes_the_mad_a_standard_deviation():
    # SciPy's own constant for normal data, 1 / Phi^-1(3/4) = 1.4826 (Hampel 1974; Rousseeuw and Croux 1993).
    data = np.random.default_rng(7).normal(size=9)
    ours = 1.4826 * np.median(np.abs(data - np.median(data)))
    assert ours == pytest.approx(median_abs_deviation(data, scale="normal"), rel=1e-4)


def test_a_worked_example_by_hand():
    # Window of 13 round the 28.4: sorted 25.9 26.0 26.0 26.1 26.1 26.2 [26.2] 26.3 26.4 26.4 26.5 26.6 28.4, median
    # 26.2; deviations sorted 0 0 .1 .1 .1 .2 [.2] .2 .2 .3 .3 .4 2.2, MAD 0.2; the bound is 3 * 1.4826 * 0.2 = 0.890.
    shown = [26.2, 26.1, 26.4, 26.0, 26.5, 26.3, 28.4, 26.1, 26.6, 25.9, 26.4, 26.0, 26.2]
    assert found(every(15, 13), shown) == [value == 28.4 for value in shown]
    inside, outside = [*shown], [*shown]
    inside[6], outside[6] = 27.08, 27.10
    assert found(every(15, 13), inside) == [False] * 13
    assert found(every(15, 13), outside) == [number == 6 for number in range(13)]


@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(st.integers(10, 400), st.integers(-12, 12)), min_size=1, max_size=60))
def test_readings_apart_are_judged_as_the_definition_says(steps):
    at_ms = np.cumsum([minutes for minutes, _ in steps]) // 10 * 10 * MINUTE + START
    at_ms, first = np.unique(at_ms, return_index=True)
    celsius = [26 + steps[i][1] / 10 for i in first]
    assert found(at_ms, celsius) == by_definition(at_ms.tolist(), celsius)


def test_a_probe_in_the_air_for_half_an_hour_is_found_by_every_minute_of_it():
    celsius = 26 + 0.2 * np.sin(np.arange(600) / 230)
    celsius[300:330] = 21.5
    assert found(every(1, 600), celsius) == [300 <= number < 330 for number in range(600)]


def test_cold_water_after_a_water_change_is_no_spike_once_it_has_lasted():
    celsius = np.r_[np.full(300, 26.0), np.full(300, 24.2)]
    assert not any(found(every(1, 600), celsius))


def test_the_newest_readings_are_judged_again_by_what_comes_after_them():
    at_ms, celsius = every(10, 40), [26.0] * 30 + [24.0] * 10
    assert found(at_ms[:31], celsius[:31]) == [False] * 30 + [True]
    assert not any(found(at_ms, celsius))


def test_a_steady_rise_is_no_spike():
    assert not any(found(every(5, 300), 24 + np.arange(300) * 0.02))


@pytest.mark.parametrize(("step", "off"), [(0.1, 0.5), (0.5, 0.75), (1.0, 1.5), (5 / 9, 5 / 6)])
def test_a_coarse_thermometer_is_given_a_step_and_a_half(step, off):
    celsius = [26.0, 26.0, 26.0, 26.0 + step] * 10
    for beside, is_spike in ((off - 0.02, False), (off + 0.02, True)):
        celsius[20] = 26.0 - beside
        at_ms = np.array(every(10, 40))
        assert found(at_ms, celsius)[20] == by_definition(at_ms.tolist(), celsius)[20]
        if beside > step:
            assert found(at_ms, celsius)[20] == is_spike


def test_where_the_window_shows_no_step_the_coarsest_is_taken():
    celsius = [26.0] * 40
    for odd, is_spike in ((27.0, False), (27.49, False), (27.51, True), (24.4, True)):
        celsius[20] = odd
        assert found(every(10, 40), celsius) == [is_spike and number == 20 for number in range(40)]


def test_of_two_readings_in_ten_minutes_the_lower_one_stands_for_both():
    # So that it is a value which the thermometer shows: 26.8 would be none.
    at_ms = sorted(every(10, 12) + [at + 5 * MINUTE for at in every(10, 12)])
    assert found(at_ms, [26.0, 27.6] * 12) == [False, True] * 12


def test_too_few_neighbours_judge_nobody():
    assert found(every(180, 4), [26, 26, 40, 26]) == [False] * 4
    assert found(every(180, 5), [26, 26, 40, 26, 26]) == [False, False, True, False, False]
    # Five of them, but the last two lie more than twelve hours off.
    far = [START, START + HOUR, START + 2 * HOUR, START + 15 * HOUR, START + 16 * HOUR]
    assert found(far, [26, 26, 40, 26, 26]) == [False] * 5
    assert found([], []) == []


def test_nothing_further_off_than_the_reach_bears_on_a_verdict():
    rng = np.random.default_rng(3)
    at_ms = np.unique(START + rng.integers(0, 4 * 24 * 60, 900) * MINUTE)
    celsius = np.round(26 + rng.normal(0, 0.2, at_ms.size) + 4 * (rng.random(at_ms.size) < 0.02), 1)
    whole = spikes(at_ms, celsius)
    assert 5 < whole.sum() < 60
    middle = START + 2 * 24 * HOUR
    reach = int(REACH.total_seconds() * 1000)
    near = np.abs(at_ms - middle) <= reach
    here = at_ms == at_ms[np.argmin(np.abs(at_ms - middle))]
    assert spikes(at_ms[near], celsius[near])[here[near]] == whole[here]
