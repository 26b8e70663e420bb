"""Free ammonia and changes of water: published tables, our own second reckoning, and water changed day by day."""

from __future__ import annotations

import math
from itertools import count

import pytest
from hypothesis import given
from hypothesis import strategies as st

from domain.nursery_reference import (
    carried_on,
    changed_daily,
    clegg_whitfield_pk,
    free_share_by_hand,
    ionising,
)
from holdwatch.domain.water import daily_share, excreted, free_ammonia, free_share, share_to_reach

# Bower & Bidwell 1978, J. Fish. Res. Board Can. 35:1012-1016: per cent NH3 in sea water, S 34, pH 7.5 to 8.5 by tenths.
BOWER_BIDWELL = {
    10: (0.459, 0.577, 0.726, 0.912, 1.15, 1.44, 1.80, 2.26, 2.83, 3.54, 4.41),
    15: (0.665, 0.836, 1.05, 1.32, 1.66, 2.07, 2.60, 3.25, 4.06, 5.05, 6.28),
    20: (0.963, 1.21, 1.52, 1.90, 2.39, 2.98, 3.73, 4.65, 5.78, 7.17, 8.87),
    25: (1.39, 1.75, 2.19, 2.74, 3.43, 4.28, 5.32, 6.61, 8.18, 10.10, 12.40),
}
# The table rests on measurements of its own, so Clegg & Whitfield differ from it: by 0.7 to 4.3 %, allowed 6 %.
BOWER_BIDWELL_TOLERANCE = 0.06

# Trussell 1972, J. Fish. Res. Board Can. 29:1505-1507: per cent NH3 in fresh water by temperature and pH.
TRUSSELL = {
    10: {7.0: 0.19, 7.1: 0.23, 7.3: 0.37, 7.5: 0.59, 7.8: 1.16, 7.9: 1.46, 8.0: 1.83, 8.2: 2.86, 8.3: 3.58, 8.4: 4.46},
    15: {7.0: 0.27, 7.1: 0.34, 7.2: 0.43, 7.5: 0.85, 7.6: 1.07, 7.7: 1.35, 7.8: 1.69, 8.0: 2.65, 8.1: 3.32, 8.5: 7.98},
    20: {7.0: 0.40, 7.1: 0.50, 7.3: 0.79, 7.7: 1.96, 7.8: 2.45, 8.0: 3.83, 8.3: 7.36, 8.4: 9.09, 8.5: 11.18},
    25: {7.0: 0.55, 7.1: 0.70, 7.4: 1.38, 7.6: 2.17, 7.7: 2.72, 7.9: 4.24, 8.0: 5.28, 8.2: 8.11, 8.5: 14.97},
}
# An older constant, and two figures: allowed 3.5 %.
TRUSSELL_TOLERANCE = 0.035

# Emerson et al. 1975, J. Fish. Res. Board Can. 32:2379-2383, their table, from memory: (pH, °C, per cent).
EMERSON = [
    (7.0, 10, 0.186),
    (7.0, 20, 0.396),
    (8.0, 20, 3.82),
    (8.0, 25, 5.38),
    (8.5, 10, 5.56),
    (8.5, 25, 15.2),
    (9.0, 20, 28.4),
]
EMERSON_TOLERANCE = 0.006

# The equation of Clegg & Whitfield 1995 on the free scale, worked out with other software: {(°C, psu): {pH: share}}.
WORKED_OUT = {
    (10, 25): {8.0: 0.0154231, 8.2: 0.0242254},
    (10, 30): {8.0: 0.0149248},
    (10, 33): {7.8: 0.00928231, 8.0: 0.014632, 8.2: 0.0229934, 8.4: 0.0359585},
    (10, 35): {7.8: 0.00915913, 8.4: 0.035494},
    (15, 25): {7.8: 0.014424, 8.4: 0.0550556},
    (15, 30): {7.8: 0.0139743, 8.2: 0.0343757, 8.4: 0.0534079},
    (20, 25): {7.8: 0.0209387, 8.0: 0.0327842, 8.2: 0.0509818},
    (20, 33): {8.2: 0.0486322, 8.4: 0.0749451},
    (24, 25): {7.8: 0.0279072, 8.0: 0.0435196, 8.2: 0.0672618, 8.4: 0.102568},
    (24, 33): {7.8: 0.026629, 8.2: 0.0643002, 8.4: 0.0982152},
    (25, 30): {7.8: 0.0290863, 8.4: 0.106555},
    (25, 35): {7.8: 0.0282464, 8.4: 0.103717},
    (26, 33): {7.8: 0.0306575, 8.0: 0.047733},
    (26, 35): {7.8: 0.0303018, 8.2: 0.0727805},
    (27, 35): {7.8: 0.032487, 8.2: 0.0777831, 8.4: 0.117914},
    (28, 35): {7.8: 0.0348083, 8.0: 0.0540666, 8.2: 0.0830631, 8.4: 0.125547},
    (30, 33): {7.8: 0.0403365, 8.0: 0.0624555, 8.4: 0.143346},
    (30, 35): {7.8: 0.0398861},
}

NO_NUMBERS = (math.nan, math.inf, -math.inf)

phs, celsius, salinities = st.floats(5, 10), st.floats(-2, 40), st.floats(0, 40)
amounts, volumes = st.floats(0.01, 500), st.floats(1, 2000)
shares = st.lists(st.floats(0, 0.95), max_size=5)


@pytest.mark.parametrize(("ph", "salt", "share"), [(8.0, 35, 0.044), (7.8, 35, 0.0282)])
def test_the_published_example_of_clegg_and_whitfield_comes_out_to_its_last_figure(ph, salt, share):
    """R package wq 0.2-9, documented example of its ammonia function, pH on the free scale, 25 °C."""
    assert free_share(ph, 25, salt) == pytest.approx(share, abs=5e-5)


@pytest.mark.parametrize(("celsius", "share"), [(10, 0.0183), (25, 0.0539)])
def test_fresh_water_lies_within_a_hundredth_of_clegg_and_whitfield(celsius, share):
    """The same example at salinity 0: our reckoning of the equation meets it, and Emerson's differs by little."""
    assert ionising(8.0, clegg_whitfield_pk(celsius, 0)) == pytest.approx(share, abs=5e-5)
    assert free_share(8.0, celsius, 0) == pytest.approx(share, rel=0.01)


@pytest.mark.parametrize("celsius", BOWER_BIDWELL)
def test_sea_water_agrees_with_bower_and_bidwell(celsius):
    ours = [100 * free_share(7.5 + tenth / 10, celsius, 34) for tenth in range(11)]
    assert ours == pytest.approx(BOWER_BIDWELL[celsius], rel=BOWER_BIDWELL_TOLERANCE)


@pytest.mark.parametrize("celsius", TRUSSELL)
def test_fresh_water_agrees_with_trussell(celsius):
    ours = {ph: 100 * free_share(ph, celsius, 0) for ph in TRUSSELL[celsius]}
    assert ours == pytest.approx(TRUSSELL[celsius], rel=TRUSSELL_TOLERANCE)


@pytest.mark.parametrize(("ph", "celsius", "per_cent"), EMERSON)
def test_fresh_water_agrees_with_the_table_of_emerson(ph, celsius, per_cent):
    assert 100 * free_share(ph, celsius, 0) == pytest.approx(per_cent, rel=EMERSON_TOLERANCE)


@pytest.mark.parametrize("water", WORKED_OUT)
def test_the_equation_of_clegg_and_whitfield_is_the_published_one(water):
    ours = {ph: free_share(ph, *water) for ph in WORKED_OUT[water]}
    assert ours == pytest.approx(WORKED_OUT[water], abs=1e-6)


def test_the_share_that_a_toxicity_paper_implies():
    """Zheng 2012, grouper fry: total 5.62 and NH3 0.23 mg/L at 25 °C, S 30.5, pH 8.0."""
    assert free_share(8.0, 25, 30.5) == pytest.approx(0.23 / 5.62, abs=0.005)


def test_a_tenth_of_ph_is_nearly_a_quarter_more():
    """Clegg & Whitfield 1995 at 26 °C, S 35, worked out: 1.24008."""
    assert free_share(8.2, 26, 35) / free_share(8.1, 26, 35) == pytest.approx(1.24008, abs=2e-5)


@given(phs, celsius, salinities)
def test_the_share_is_that_of_our_second_reckoning(ph, celsius, salt):
    assert free_share(ph, celsius, salt) == pytest.approx(free_share_by_hand(ph, celsius, salt), rel=1e-9)


@pytest.mark.parametrize("salt", [0, 0.5, math.nextafter(1, 0), 1, math.nextafter(1, 2)])
def test_water_is_fresh_below_one_psu_and_salt_from_there_on(salt):
    assert free_share(8.0, 25, salt) == pytest.approx(free_share_by_hand(8.0, 25, salt), rel=1e-9)


@given(celsius)
def test_where_fresh_meets_salt_the_step_is_small(celsius):
    """Emerson and Clegg & Whitfield were fitted apart; a step larger than 5 % would be seen on a page."""
    assert free_share(8.0, celsius, 0.999) == pytest.approx(free_share(8.0, celsius, 1.0), rel=0.05)


@given(phs, phs, celsius, salinities)
def test_more_is_free_at_a_higher_ph(one, other, celsius, salt):
    low, high = sorted((one, other))
    assert 0 < free_share(low, celsius, salt) <= free_share(high, celsius, salt) < 1
    assert high - low < 1e-6 or free_share(low, celsius, salt) < free_share(high, celsius, salt)


@given(phs, celsius, celsius, salinities)
def test_more_is_free_in_warmer_water(ph, one, other, salt):
    low, high = sorted((one, other))
    assert free_share(ph, low, salt) <= free_share(ph, high, salt)
    assert high - low < 1e-6 or free_share(ph, low, salt) < free_share(ph, high, salt)


@pytest.mark.parametrize(
    "water",
    [
        *[(ph, 25, 35) for ph in (4.99, 10.01, *NO_NUMBERS)],
        *[(8, celsius, 35) for celsius in (-2.01, 40.01, *NO_NUMBERS)],
        *[(8, 25, salt) for salt in (-0.01, 40.01, *NO_NUMBERS)],
    ],
)
def test_water_that_the_equations_do_not_know_is_refused(water):
    with pytest.raises(ValueError):
        free_share(*water)
    with pytest.raises(ValueError):
        free_ammonia(1.0, *water)


@pytest.mark.parametrize("water", [(5, 25, 35), (10, 25, 35), (8, -2, 35), (8, 40, 35), (8, 25, 0), (8, 25, 40)])
def test_water_at_the_bounds_is_taken(water):
    assert free_share(*water) == pytest.approx(free_share_by_hand(*water), rel=1e-9)


@given(st.floats(0, 100), phs, celsius, salinities)
def test_free_ammonia_is_nitrogen_as_the_total_is(total, ph, celsius, salt):
    """No factor of 1.216 from nitrogen to NH3 in between."""
    assert free_ammonia(total, ph, celsius, salt) == pytest.approx(total * free_share_by_hand(ph, celsius, salt))


def test_a_tenth_of_what_kills_half_the_larvae_is_reached_at_so_much_total_ammonia():
    """Sparus larvae, LC50 in 24 h 0.24 mg/L NH3-N: 0.024 at pH 8.1, 26 °C, S 34 is 0.40661 mg/L in all, worked out."""
    assert free_ammonia(0.40661, 8.1, 26, 34) == pytest.approx(0.024, rel=3e-4)


@given(st.floats(0, 1e3), st.floats(0, 1e3))
def test_the_share_to_change_at_once_brings_the_value_down_to_the_limit(value, limit):
    share = share_to_reach(value, limit)
    assert 0 <= share <= 1
    assert value * (1 - share) == pytest.approx(min(value, limit), abs=1e-9)
    assert value > limit or share == 0


def test_seven_changes_of_30_per_cent_are_one_of_90():
    """ln 0.1 / ln 0.7 = 6.46, so seven."""
    share = share_to_reach(1.0, 0.1)
    assert share == pytest.approx(0.9)
    assert next(n for n in count() if 1 - 0.7**n >= share) == 7


def test_a_quarter_a_day_holds_so_much():
    """Worked out: 5.16 mg a day in 40 L: 0.516 mg/L before a change, 0.387 after it; 0.3652066 after the tenth."""
    assert daily_share(5.16, 40, 0.516) == pytest.approx(0.25)
    days = changed_daily(0, 5.16, 40, daily_share(5.16, 40, 0.516), 200)
    assert days[9][1] == pytest.approx(0.3652066, abs=1e-6)
    assert days[-1] == pytest.approx((0.516, 0.387), abs=1e-9)


@given(volumes, st.floats(0.001, 5), st.floats(0.02, 1), st.floats(0, 1))
def test_changed_so_much_each_day_the_worst_moment_comes_to_the_limit_and_stays(litres, limit, load, start):
    """`load` is the day's excretion over what the whole water may hold, `start` a share of the limit."""
    excretion = load * litres * limit
    share = daily_share(excretion, litres, limit)
    worst = [before for before, _ in changed_daily(start * limit * (1 - share), excretion, litres, share, 1000)]
    assert max(worst) <= limit * (1 + 1e-9)
    assert worst[-1] == pytest.approx(limit, rel=1e-6)


@given(volumes, st.floats(0.001, 5), st.floats(0.05, 1))
def test_a_little_less_a_day_goes_over_the_limit(litres, limit, load):
    excretion = load * litres * limit
    share = daily_share(excretion, litres, limit) * 0.98
    assert changed_daily(0, excretion, litres, share, 1000)[-1][0] > limit * 1.01


@given(volumes, st.floats(0.001, 5), st.floats(1, 50))
def test_no_more_than_all_is_changed_each_day(litres, limit, load):
    assert daily_share(load * litres * limit, litres, limit) == pytest.approx(1, abs=1e-12)
    assert daily_share(load * litres * limit, litres, limit) <= 1


def test_nothing_excreted_wants_no_change():
    assert daily_share(0, 40, 0.1) == 0


def test_what_came_in_between_two_tests_is_found():
    """The same nursery: 0.516 before a change of a quarter and again a day after is 5.16 mg a day."""
    assert excreted(0.516, 0.516, [0.25], 40, 1) == pytest.approx(5.16)
    assert excreted(0, 0.129, [], 40, 1) == pytest.approx(5.16)


@given(st.floats(0, 5), amounts, volumes, st.integers(1, 10), shares)
def test_what_came_in_is_found_again_where_all_was_changed_at_the_beginning(before, excretion, litres, days, changed):
    after = carried_on(before, excretion, litres, 24, days, {0: changed})
    found = excreted(before, after, changed, litres, days)
    assert found == pytest.approx(excretion, rel=1e-6, abs=1e-9 * litres)


@given(st.floats(0, 5), amounts, volumes, st.integers(1, 6), st.lists(st.floats(0, 0.95), min_size=1, max_size=4))
def test_changes_later_on_hide_some_of_what_came_in_and_never_add_to_it(before, excretion, litres, days, changed):
    last = days * 24 - 1
    spread = {last * (place + 1) // len(changed): [share] for place, share in enumerate(changed)}
    after = carried_on(before, excretion, litres, 24, days, spread)
    found = excreted(before, after, changed, litres, days)
    assert 0 <= found <= excretion * (1 + 1e-6) + 1e-9 * litres


@given(st.floats(0, 50), st.floats(0, 50), shares, volumes, st.floats(0.1, 30))
def test_never_less_than_nothing_came_in(before, after, changed, litres, days):
    assert excreted(before, after, changed, litres, days) >= 0


@pytest.mark.parametrize(("litres", "days"), [(0, 1), (-40, 1), (40, 0), (40, -1), (math.nan, 1), (40, math.nan)])
def test_no_water_or_no_time_between_tests_is_refused(litres, days):
    with pytest.raises(ValueError):
        excreted(0.1, 0.2, [0.25], litres, days)
