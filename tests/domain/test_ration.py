"""How many cysts, nauplii and hours a meal takes: published figures, and the sums done backwards."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdwatch.domain.ration import cysts_g, set_going_at

EVENING = datetime(2026, 11, 20, 18, tzinfo=UTC)

nauplii, efficiencies, losses = st.floats(0, 1e7), st.floats(1_000, 400_000), st.floats(0, 0.95)
hours = st.floats(0, 72)


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


@given(hours, hours, hours)
def test_hatched_enriched_and_carried_they_are_there_for_the_meal(hatch, enrich, handling):
    set_going = set_going_at(EVENING, hatch, enrich, handling)
    at_meal = set_going + timedelta(hours=hatch) + timedelta(hours=enrich) + timedelta(hours=handling)
    assert abs(at_meal - EVENING) <= timedelta(microseconds=4)
