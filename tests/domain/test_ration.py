"""How many cysts, nauplii and hours a meal takes: published figures, and the sums done backwards."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdwatch.domain.ration import (
    cysts_for_density_g,
    cysts_g,
    hatching_percent,
    nauplii_a_day,
    nauplii_per_gram,
    set_going_at,
)

EVENING = datetime(2026, 11, 20, 18, tzinfo=UTC)

nauplii, efficiencies, losses = st.floats(0, 1e7), st.floats(1_000, 400_000), st.floats(0, 0.95)
counts, hours = st.floats(0, 500), st.floats(0, 72)


def test_cysts_of_a_days_ration():
    """Worked out: 200 larvae, 150 nauplii each, a fifth lost, 200,000 nauplii from a gram."""
    assert cysts_g(200 * 150, 0.2, 200_000) == pytest.approx(0.1875, abs=1e-9)


def test_cysts_of_one_hatchery():
    """A commercial marine hatchery: 213 g at 270,000 nauplii a gram are 57.51 million."""
    assert cysts_g(57_510_000, 0, 270_000) == pytest.approx(213)


@pytest.mark.parametrize(
    ("origin", "a_gram"),
    [("San Francisco Bay", 267_200), ("Great Salt Lake", 106_000), ("Chaplin Lake", 65_600), ("Macau", 304_000)],
)
def test_a_tins_origin_bears_on_the_grams(origin, a_gram):
    """Vanhaecke & Sorgeloos 1983, Aquaculture 30:43-52, from memory: nauplii a gram, 4.6-fold apart."""
    assert cysts_g(a_gram, 0, a_gram) == pytest.approx(1), origin
    assert cysts_g(304_000, 0, a_gram) == pytest.approx(304_000 / a_gram), origin


@given(nauplii, losses, efficiencies)
def test_the_grams_hatch_to_what_was_wanted_after_the_loss(wanted, lost, a_gram):
    hatched = cysts_g(wanted, lost, a_gram) * a_gram
    assert hatched - hatched * lost == pytest.approx(wanted)


@given(st.floats(1, 1e7), losses, losses, efficiencies)
def test_a_larger_loss_takes_more_cysts(wanted, one, other, a_gram):
    low, high = sorted((one, other))
    assert cysts_g(wanted, low, a_gram) <= cysts_g(wanted, high, a_gram)


@pytest.mark.parametrize("lost", [-0.01, 1, 1.2, math.nan, math.inf])
def test_a_loss_of_all_or_of_less_than_nothing_is_refused(lost):
    with pytest.raises(ValueError):
        cysts_g(30_000, lost, 200_000)


@pytest.mark.parametrize("a_gram", [0, -200_000, math.nan])
def test_cysts_that_do_not_hatch_are_refused(a_gram):
    with pytest.raises(ValueError):
        cysts_g(30_000, 0.2, a_gram)


def test_cysts_for_a_density():
    """Worked out: 40 L from 0.2 to 2.0 nauplii a millilitre, 200,000 from a gram."""
    assert cysts_for_density_g(2.0, 0.2, 40_000, 200_000) == pytest.approx(0.36, abs=1e-9)


@given(st.floats(0, 10), st.floats(0, 10), st.floats(100, 1e6), efficiencies)
def test_what_is_left_and_what_hatches_make_the_density(target, left, millilitres, a_gram):
    grams = cysts_for_density_g(target, left, millilitres, a_gram)
    assert left + grams * a_gram / millilitres == pytest.approx(max(target, left))
    assert grams >= 0


@given(st.floats(1, 500), st.floats(0, 10), st.lists(st.integers(0, 5_000), min_size=1, max_size=6), st.data())
def test_a_ration_is_that_of_the_last_step_begun(fry, age, each, data):
    days = st.floats(0, 60)
    begun = sorted(data.draw(st.lists(days, min_size=len(each), max_size=len(each), unique=True)))
    age = data.draw(days | st.sampled_from(begun))
    ration = each[0]
    for from_day, step in zip(begun, each, strict=True):
        if from_day <= age:
            ration = step
    assert nauplii_a_day(fry, age, begun, each) == pytest.approx(fry * ration)


def test_a_ration_begins_on_the_very_day_and_the_first_counts_before_it():
    steps = [0, 5, 10], [150, 300, 600]
    assert [nauplii_a_day(200, age, *steps) for age in (0, 4.999, 5, 9.9, 10, 99)] == pytest.approx(
        [30_000, 30_000, 60_000, 60_000, 120_000, 120_000]
    )
    assert nauplii_a_day(200, 1, [3, 5], [150, 300]) == pytest.approx(30_000)
    assert nauplii_a_day(0, 7, *steps) == 0


def test_cysts_are_set_going_so_many_hours_before_the_meal():
    """T90 of a made-up hourly series is 22 h; enriched for 12 h, half an hour to rinse and carry."""
    assert set_going_at(EVENING, 22, 12, 0.5) == EVENING - timedelta(hours=34, minutes=30)
    assert set_going_at(EVENING, 0, 0, 0) == EVENING


@given(hours, hours, hours)
def test_hatched_enriched_and_carried_they_are_there_for_the_meal(hatch, enrich, handling):
    set_going = set_going_at(EVENING, hatch, enrich, handling)
    at_meal = set_going + timedelta(hours=hatch) + timedelta(hours=enrich) + timedelta(hours=handling)
    assert abs(at_meal - EVENING) <= timedelta(microseconds=4)


def test_the_counting_worksheet():
    """FAO 361, worksheet 4.2.3, from memory: 60 nauplii, 3 umbrella stages, 12 unhatched in 250 µL."""
    assert hatching_percent(60, 3, 12) == pytest.approx(80.0, abs=1e-9)
    assert nauplii_per_gram(60) == pytest.approx(120_000)


@given(counts)
def test_a_sample_stands_for_the_whole_cone(found):
    """1.6 g in 800 mL: a sample is 250 µL, a millilitre four samples, the cone 800 millilitres."""
    assert nauplii_per_gram(found) == pytest.approx(found * 4 * 800 / 1.6)


@given(st.floats(0.5, 500), counts, counts)
def test_of_all_that_is_counted_the_hatched_share_lies_between_none_and_all(hatched, umbrella, unhatched):
    share = hatching_percent(hatched, umbrella, unhatched)
    assert 0 < share <= 100 * (1 + 1e-12)
    assert share / 100 * (hatched + umbrella + unhatched) == pytest.approx(hatched)
    assert hatching_percent(hatched, umbrella + 1, unhatched) < share or share < 1e-12
