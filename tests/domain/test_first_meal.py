"""When the fry first want food: against 200,000 draws, against its summed distribution, and by hand."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from domain.nursery_reference import DAY, drawn_meals, summed_meal
from holdwatch.domain.first_meal import cost_quantile, first_meal_at

NOON = datetime(2026, 11, 20, 12, tzinfo=UTC)
LEVELS = (0.05, 0.10, 0.25, 0.50, 0.75, 0.90, 0.95)
SEED = 20_261_120
WITHIN_DAYS = 0.05


def hatching(*gaps: float, since: datetime = NOON) -> dict[float, datetime]:
    """The quantiles of a hatching that begins at `since`, so many days from one level to the next."""
    return {level: since + timedelta(days=sum(gaps[:place])) for place, level in enumerate(LEVELS)}


PLAIN = hatching(0.3, 0.5, 0.6, 0.7, 0.8, 0.4)
LONG_AGO = NOON - timedelta(days=40)

# So narrow that 200,000 draws find a quantile to within a hundredth of a day.
narrow = st.builds(hatching, *(st.floats(0, most) for most in (1, 1.5, 1.5, 1.5, 1.5, 1)))
wide = st.builds(hatching, *[st.floats(0, 4)] * 6)
usual = st.builds(hatching, *[st.floats(0, 1.5)] * 6)
earliests = st.floats(-6, 10).map(lambda days: NOON + timedelta(days=days))
late_costs = st.floats(0.2, 200)


@settings(max_examples=25, deadline=None)
@given(narrow, st.floats(1, 4), st.floats(0.05, 0.3), earliests, st.sampled_from([1 / 21, 0.1, 0.25, 0.5, 0.75, 0.9]))
def test_the_first_meal_is_that_of_200_000_draws(hatched, yolk_days, yolk_spread, earliest, chance):
    drawn = float(np.quantile(drawn_meals(hatched, yolk_days, yolk_spread, earliest, SEED), chance))
    found = (first_meal_at(hatched, yolk_days, yolk_spread, earliest, chance) - earliest) / DAY
    print(f"seed {SEED}: drawn {drawn:.4f} d, found {found:.4f} d after the earliest")
    assert found == pytest.approx(drawn, abs=WITHIN_DAYS)
    assert found >= 0


@settings(max_examples=60, deadline=None)
@given(usual, st.floats(0.5, 6), st.floats(0.02, 0.4), earliests, st.floats(0.01, 0.95))
def test_the_first_meal_is_that_of_the_summed_distribution(hatched, yolk_days, yolk_spread, earliest, chance):
    summed = summed_meal(hatched, yolk_days, yolk_spread, earliest, chance)
    found = (first_meal_at(hatched, yolk_days, yolk_spread, earliest, chance) - earliest) / DAY
    assert found == pytest.approx(summed, abs=WITHIN_DAYS)
    assert found >= 0


@pytest.mark.parametrize("chance", [1 / 21, 0.25, 0.5, 0.95])
def test_after_a_hatching_that_was_seen_only_the_yolk_is_unsure(chance):
    """The quantile of a lognormal is its median times e to its spread times the normal score."""
    seen = hatching(0, 0, 0, 0, 0, 0)
    yolk = 3.0 * math.exp(0.25 * NormalDist().inv_cdf(chance))
    found = first_meal_at(seen, 3.0, 0.25, LONG_AGO, chance)
    assert (found - NOON) / DAY == pytest.approx(yolk, abs=WITHIN_DAYS)


@pytest.mark.parametrize(
    ("chance", "hatched_after"),
    [(0.05, 0.0), (0.10, 1.0), (0.175, 1.75), (0.50, 4.5), (0.95, 7.0), (0.01, -0.8), (0.98, 7.6)],
)
def test_with_a_yolk_that_is_sure_only_the_hatching_counts(chance, hatched_after):
    """Linear between the quantiles, and on along the outermost slopes, both a day in 0.05."""
    found = first_meal_at(hatching(1, 1.5, 2, 1, 0.5, 1), 3.0, 1e-4, LONG_AGO, chance)
    assert (found - NOON) / DAY == pytest.approx(3 + hatched_after, abs=WITHIN_DAYS)


def test_it_waits_for_the_earliest_where_the_yolk_ends_before():
    late = NOON + timedelta(days=60)
    assert first_meal_at(PLAIN, 3.0, 0.2, late, 1 / 21) == late
    assert first_meal_at(PLAIN, 3.0, 0.2, late, 0.95) == late


@given(wide, st.floats(0.5, 8), st.floats(0.02, 0.6), earliests, st.floats(0.01, 0.99))
def test_it_is_never_before_the_earliest(hatched, yolk_days, yolk_spread, earliest, chance):
    assert first_meal_at(hatched, yolk_days, yolk_spread, earliest, chance) >= earliest


@given(wide, st.floats(0.05, 0.6), earliests, st.floats(0.02, 0.98), st.floats(0.02, 0.98))
def test_a_larger_chance_is_later(hatched, yolk_spread, earliest, one, other):
    low, high = sorted((one, other))
    at = [first_meal_at(hatched, 3.0, yolk_spread, earliest, chance) for chance in (low, high)]
    assert at[0] <= at[1]


@given(wide, st.floats(0.5, 8), st.floats(0.5, 8), st.floats(0.05, 0.6), earliests)
def test_a_longer_yolk_is_later(hatched, one, other, yolk_spread, earliest):
    low, high = sorted((one, other))
    at = [first_meal_at(hatched, yolk, yolk_spread, earliest, 1 / 21) for yolk in (low, high)]
    assert at[0] <= at[1]


@given(wide, st.floats(0.05, 0.6), earliests, st.integers(-30, 30))
def test_all_moved_by_some_days_the_meal_moves_as_far(hatched, yolk_spread, earliest, days):
    by = timedelta(days=days)
    plain = first_meal_at(hatched, 3.0, yolk_spread, earliest, 1 / 21)
    moved = {level: at + by for level, at in hatched.items()}
    assert abs(first_meal_at(moved, 3.0, yolk_spread, earliest + by, 1 / 21) - plain - by) <= timedelta(minutes=1)


def test_the_order_of_the_quantiles_does_not_matter():
    backwards = dict(reversed(PLAIN.items()))
    assert first_meal_at(backwards, 3.0, 0.2, LONG_AGO, 0.1) == first_meal_at(PLAIN, 3.0, 0.2, LONG_AGO, 0.1)


def test_it_is_an_instant_that_names_its_zone():
    assert first_meal_at(PLAIN, 3.0, 0.2, LONG_AGO, 0.1).utcoffset() == timedelta(0)


@pytest.mark.parametrize(("late", "chance"), [(20, 1 / 21), (1, 0.5), (0.25, 0.8), (2.5, 2 / 7)])
def test_costs_set_the_chance(late, chance):
    """The newsvendor of Arrow, Harris & Marschak 1951; (7 - 5) / 7 is a textbook's example; both from memory."""
    assert cost_quantile(late) == pytest.approx(chance)


@given(late_costs, late_costs)
def test_the_dearer_it_is_to_be_late_the_earlier_one_begins(one, other):
    low, high = sorted((one, other))
    assert 0 < cost_quantile(high) <= cost_quantile(low) < 1


@pytest.mark.parametrize("late", [0.5, 3, 20])
def test_no_other_day_costs_less(late):
    """A day too early costs 1, a day too late `late`: the mean cost over all draws is least at the day found."""
    drawn = drawn_meals(PLAIN, 3.0, 0.25, LONG_AGO, SEED)
    found = (first_meal_at(PLAIN, 3.0, 0.25, LONG_AGO, cost_quantile(late)) - LONG_AGO) / DAY

    def cost(day: float) -> float:
        return float(np.mean(np.maximum(drawn - day, 0) + late * np.maximum(day - drawn, 0)))

    others = {shift: cost(found + shift) for shift in np.linspace(-3, 3, 61)}
    assert cost(found) <= min(others.values()) * 1.001
    assert min(others[-3.0], others[3.0]) > 1.5 * cost(found)
