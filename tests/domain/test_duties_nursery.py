"""What is owed to young in their nursery; where no source is named: common practice, no source."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from domain.fry import BATCH, BEGAN, TIN, batch, noon
from domain.hold import HOUR, local, mark, of_kind, one
from holdwatch.domain.duties import Amount, Change, Lamps, Measure, planned_for_nursery
from holdwatch.domain.ration import UNKNOWN_TIN
from holdwatch.domain.water import ALARM_MG_L, WaterTest, free_share

DAY = timedelta(days=1)
TODAY = "2026-11-11"


def of_day(duties, kind, day=11):
    return [duty for duty in of_kind(duties, kind) if duty.night == date(2026, 11, day)]


def ammonia_for(free_mg_l, ph=8.2, c=26.0, psu=35.0):
    """Total ammonia of which so much is NH3, at the usual water."""
    return free_mg_l / free_share(ph, c, psu)


def test_meals_are_spread_over_the_day_light_and_each_has_its_share_of_the_day():
    meals = of_day(planned_for_nursery(batch(), local(11, 8)), "feed_fry")
    hours = [local(11, 9, 30), local(11, 12, 50), local(11, 16, 10), local(11, 19, 30)]
    assert [meal.due_at for meal in meals] == hours
    assert [meal.key for meal in meals] == [f"feed:{BATCH}:{TODAY}:{n}" for n in (1, 2, 3, 4)]
    assert [meal.until_at for meal in meals][-1] == local(11, 21, 30)
    assert all(meal.amount == Amount(measures=1, measure="two pipettes") for meal in meals)


@pytest.mark.parametrize(("wanted", "count"), [(1, 1), (2, 2), (7, 7), (None, 4), (0, 4)])
def test_the_keeper_says_how_many_meals_a_day_or_else_the_profile_does(wanted, count):
    assert len(of_day(planned_for_nursery(batch(meals_a_day=wanted), local(11, 8)), "feed_fry")) == count


def test_a_meal_given_late_counts_for_the_next_one_and_nobody_is_asked_twice():
    fed = (local(11, 9, 40), local(11, 14, 31))
    meals = of_day(planned_for_nursery(batch(fed=fed), local(11, 9, 41)), "feed_fry")
    assert [meal.done_at for meal in meals] == [fed[0], None, fed[1], None]
    left = of_day(planned_for_nursery(batch(fed=fed), local(11, 15)), "feed_fry")
    assert [meal.done_at for meal in left] == [fed[1], None]


def test_who_feeds_just_after_lamps_out_is_late_and_not_early():
    fed = (local(11, 21, 50),)
    assert of_day(planned_for_nursery(batch(fed=fed), local(12, 8)), "feed_fry", 12)[0].done_at is None


@pytest.mark.parametrize(
    ("out", "on", "count"), [(time(9), time(9), 4), (time(10, 30), time(9), 1), (time(12), time(9), 1)]
)
def test_a_day_that_is_too_short_has_fewer_meals_and_one_without_a_night_has_all(out, on, count):
    lamps = Lamps(ZoneInfo("Europe/Berlin"), out, on)
    meals = planned_for_nursery(batch(lamps=lamps, began=local(1, 12), first_meal_at=local(1, 12)), noon(11))
    assert len(of_day(of_kind(meals, "feed_fry"), "feed_fry", 12)) == count


def test_what_was_fed_before_they_came_here_is_no_meal_of_theirs():
    fed = (BEGAN - HOUR,)
    assert [m.done_at for m in of_day(planned_for_nursery(batch(fed=fed), BEGAN), "feed_fry")] == [None] * 4


def test_a_batch_that_came_in_at_noon_is_not_asked_to_be_fed_as_of_the_morning():
    began = local(11, 12, 20)
    meals = of_day(planned_for_nursery(batch(began=began, first_meal_at=began), began), "feed_fry")
    assert [meal.due_at for meal in meals] == [local(11, 12, 50), local(11, 16, 10), local(11, 19, 30)]


def test_nobody_feeds_before_the_yolk_is_used_up():
    late = batch(first_meal_at=local(12, 12))
    meals = of_kind(planned_for_nursery(late, local(11, 8)), "feed_fry")
    assert meals[0].due_at == local(12, 12, 50)


def test_a_mark_does_a_meal_as_well_as_a_record_of_it():
    key = f"feed:{BATCH}:{TODAY}:1"
    marked = batch(marks=(mark("taken", "ada", local(11, 9), key), mark("done", "ada", local(11, 9, 35), key)))
    first = of_day(planned_for_nursery(marked, local(11, 10)), "feed_fry")[0]
    assert (first.taken_by, first.done_at) == ("ada", local(11, 9, 35))


def test_food_for_the_first_days_is_fresh_and_from_the_third_day_of_feeding_enriched():
    """Unenriched nauplii killed 80.7 % of the young, enriched 5.3 %: Vagelli 2004; the two first days: assumption."""
    hatches = of_kind(planned_for_nursery(batch(set_going=(BEGAN - DAY,)), noon(11)), "start_food")
    # For the 12th, 20 h and half an hour before 9:30; for the 13th, 12 h more.
    assert [(hatch.key, hatch.due_at) for hatch in hatches] == [
        (f"hatch:{BATCH}:2026-11-12", local(11, 13)),
        (f"hatch:{BATCH}:2026-11-13", local(11, 19, 30)),
        (f"hatch:{BATCH}:2026-11-14", local(12, 19, 30)),
        (f"hatch:{BATCH}:2026-11-15", local(13, 19, 30)),
    ]


def test_a_hatch_that_would_want_somebody_at_night_is_set_going_the_evening_before():
    slow = replace(TIN, hours_to_hatch=44)
    hatch = of_kind(planned_for_nursery(batch(tin=slow, set_going=(BEGAN - DAY,)), local(12, 7)), "start_food")[0]
    # For 9:30 on the 14th, with the enrichment, it would be 1:00 on the 12th, in the dark.
    assert (hatch.key, hatch.due_at) == (f"hatch:{BATCH}:2026-11-14", local(11, 19, 30))


def test_grams_of_cysts_are_those_of_the_ration_and_of_the_tin():
    """40 young of 6 days, 60 nauplii each (assumption), a fifth lost, 200,000 a gram: 40·60 / (0.8·200,000) g."""
    hatch = of_kind(planned_for_nursery(batch(set_going=(BEGAN - DAY,)), noon(11)), "start_food")[0]
    assert hatch.amount == Amount(0.015, "g", 1.5, "level blue spoon")
    older = batch(hatched_at=BEGAN - 20 * DAY, set_going=(BEGAN - DAY,))
    hatch = of_kind(planned_for_nursery(older, noon(11)), "start_food")[0]
    assert hatch.amount == Amount(0.037, "g", 4, "level blue spoon")


@pytest.mark.parametrize("size", [0.00005, 0.5])
def test_a_measure_that_nobody_could_count_or_part_is_left_out(size):
    tin = replace(TIN, measure_g=size)
    hatch = of_kind(planned_for_nursery(batch(tin=tin, set_going=(BEGAN - DAY,)), noon(11)), "start_food")[0]
    assert hatch.amount == Amount(0.015, "g")


@pytest.mark.parametrize("changes", [{"tin": UNKNOWN_TIN}, {"alive": None}])
def test_without_a_yield_or_a_count_no_amount_is_made_up(changes):
    hatch = of_kind(planned_for_nursery(batch(set_going=(BEGAN - DAY,), **changes), noon(11)), "start_food")[0]
    assert hatch.amount is None


@given(
    a_gram=st.floats(0, 1e6), measure_g=st.floats(0, 1000), jug=st.floats(0, 1000), alive=st.integers(0, 10**6),
    litres=st.floats(1e-6, 1e6), ammonia=st.floats(0, 100), ph=st.floats(0, 14), psu=st.floats(0, 60),
)  # fmt: skip
def test_whatever_was_typed_amounts_are_such_as_somebody_could_measure(
    a_gram, measure_g, jug, alive, litres, ammonia, ph, psu
):
    tin = replace(TIN, nauplii_per_gram=a_gram, measure_g=measure_g)
    tests = (WaterTest(local(11, 9), 0.001, 8.2), WaterTest(local(11, 10), ammonia, ph, 26.0, psu))
    odd = batch(tin=tin, alive=alive, litres=litres, jug=Measure("jug", jug), tests=tests)
    amounts = [duty.amount for duty in planned_for_nursery(odd, noon(11)) if duty.amount]
    assert all(amount.quantity is None or 0 <= amount.quantity <= 1e6 for amount in amounts)
    assert all(amount.measures is None or 0.5 <= amount.measures <= 200 for amount in amounts)


def test_where_nothing_was_set_going_in_time_it_is_asked_for_once_at_once_for_the_first_day_it_reaches():
    first, *others = of_kind(planned_for_nursery(batch(), BEGAN), "start_food")
    assert (first.key, first.due_at, first.done_at) == (f"hatch:{BATCH}:{TODAY}", BEGAN, None)
    assert all(other.due_at >= BEGAN + 10 * HOUR for other in others)
    started = of_kind(planned_for_nursery(batch(set_going=(BEGAN + HOUR,)), BEGAN + 2 * HOUR), "start_food")
    assert [hatch.done_at for hatch in started[:2]] == [BEGAN + HOUR, None]
    slow = batch(tin=replace(TIN, hours_to_hatch=30))
    assert of_kind(planned_for_nursery(slow, BEGAN), "start_food")[0].key == f"hatch:{BATCH}:2026-11-12"


@pytest.mark.parametrize("late_hours", [0, 1, 3, 6])
def test_one_hatch_is_one_days_food(late_hours):
    """At the change to enriched food two are due within half a day: what is set going once does one of them."""
    young = batch(set_going=(BEGAN - 10 * HOUR, local(11, 13) + late_hours * HOUR))
    hatches = of_kind(planned_for_nursery(young, local(11, 19, 20)), "start_food")
    done = {hatch.key[-2:]: hatch.done_at for hatch in hatches}
    assert done["12"] == local(11, 13) + late_hours * HOUR and done["13"] is None


def test_a_slow_tin_is_asked_for_in_time():
    slow = batch(tin=replace(TIN, hours_to_hatch=60, hours_to_enrich=24), set_going=(BEGAN - DAY,))
    hatch = of_kind(planned_for_nursery(slow, noon(12)), "start_food")[0]
    assert hatch.due_at >= noon(12) - 12 * HOUR and hatch.key > f"hatch:{BATCH}:2026-11-15"


def test_brine_shrimp_end_when_the_young_are_old_enough():
    assert of_kind(planned_for_nursery(batch(hatched_at=BEGAN - 70 * DAY), noon(11)), "start_food") == []


def test_water_is_tested_each_day_for_a_fortnight_and_then_every_third_day():
    days = [
        day for day in range(20)
        if of_day(planned_for_nursery(batch(), noon(11) + day * DAY), "test_water", 11 + day) and day < 19
    ]  # fmt: skip
    assert days == [*range(13), 14, 17]


def test_a_test_or_a_change_on_the_same_day_is_that_days():
    at = local(11, 10)
    tested = planned_for_nursery(batch(tests=(WaterTest(at, 0.0),), changes=(Change(at, 8),)), noon(11))
    assert [one.done_at for one in of_day(tested, "test_water")] == [at]
    assert [one.done_at for one in of_day(tested, "change_water")] == [at]
    assert [one.done_at for one in of_day(tested, "test_water", 12)] == [None]


def test_a_fifth_of_the_water_is_changed_told_in_the_houses_jug():
    change = of_day(planned_for_nursery(batch(), noon(11)), "change_water")[0]
    assert change.amount == Amount(8.0, "L", 4, "white jug")
    assert of_day(planned_for_nursery(batch(litres=None), noon(11)), "change_water")[0].amount is None


def test_more_is_changed_where_the_test_calls_for_it_and_a_half_at_most():
    """The limit of 0.010 mg/L NH3-N: larval literature, handbook section 3; the balance by hand: 1 − 0.010/0.015."""
    tested = batch(tests=(WaterTest(local(11, 9), ammonia_for(0.015)),))
    change = of_day(planned_for_nursery(tested, noon(11)), "change_water")[0]
    assert change.amount == Amount(13.0, "L", 6.5, "white jug")
    bad = batch(tests=(WaterTest(local(11, 9), ammonia_for(0.5)),))
    assert of_day(planned_for_nursery(bad, noon(11)), "change_water")[0].amount == Amount(20.0, "L", 10, "white jug")


def test_what_comes_in_between_two_tests_says_how_much_to_change_for_good():
    """By hand: 0.004 mg/L of NH3-N came in over a day; to stay at 0.010 before each change, 0.4 of it is changed."""
    tests = (WaterTest(local(11, 9), ammonia_for(0.002)), WaterTest(local(12, 9), ammonia_for(0.006)))
    change = of_day(planned_for_nursery(batch(tests=tests), noon(12)), "change_water", 12)[0]
    assert change.amount == Amount(16.0, "L", 8, "white jug")


def test_two_tests_on_each_others_heels_show_how_a_kit_is_read_and_not_what_came_in():
    tests = (WaterTest(local(11, 9), 0.020, 8.1), WaterTest(local(11, 9, 2), 0.025, 8.1))
    change = of_day(planned_for_nursery(batch(tests=tests), noon(11)), "change_water")[0]
    assert change.amount == Amount(8.0, "L", 4, "white jug")


def test_ammonia_beyond_the_alarm_is_told_at_once_until_water_is_changed():
    at = local(11, 15)
    assert of_kind(planned_for_nursery(batch(tests=(WaterTest(at, ammonia_for(0.0249)),)), at), "ammonia_high") == []
    bad = batch(tests=(WaterTest(at, ammonia_for(ALARM_MG_L)),))
    alarm = one(planned_for_nursery(bad, at), "ammonia_high")
    assert (alarm.tell_at, alarm.done_at, alarm.amount) == (at, None, Amount(20.0, "L", 10, "white jug"))
    changed = replace(bad, changes=(Change(at + HOUR, 20),))
    assert one(planned_for_nursery(changed, at + 2 * HOUR), "ammonia_high").done_at == at + HOUR
    little = replace(bad, changes=(Change(at + HOUR, 1),))
    assert one(planned_for_nursery(little, at + 2 * HOUR), "ammonia_high").done_at is None
    assert of_day(planned_for_nursery(little, at + 2 * HOUR), "change_water")[0].done_at is None
    unknown = replace(little, litres=None)
    assert one(planned_for_nursery(unknown, at + 2 * HOUR), "ammonia_high").done_at == at + HOUR
    again = replace(changed, tests=(*bad.tests, WaterTest(at + 3 * HOUR, ammonia_for(0.03))))
    assert one(planned_for_nursery(again, at + 3 * HOUR), "ammonia_high").key != alarm.key


def test_a_test_that_no_formula_knows_raises_no_alarm():
    odd = batch(tests=(WaterTest(noon(11), 3.0, ph=12.0),))
    assert of_kind(planned_for_nursery(odd, noon(11)), "ammonia_high") == []


def test_young_are_counted_each_week_and_a_count_two_days_early_will_do():
    assert of_kind(planned_for_nursery(batch(), local(15, 22)), "count_fry")[0].due_at == local(17, 19, 30)
    counted = batch(counted=(local(16, 12),))
    assert one(planned_for_nursery(counted, local(16, 12)), "count_fry").done_at == local(16, 12)
    assert one(planned_for_nursery(batch(), local(18, 23)), "count_fry").due_at == local(17, 19, 30)
    assert of_kind(planned_for_nursery(batch(), local(19, 20)), "count_fry") == []
    assert of_kind(planned_for_nursery(batch(), noon(13)), "count_fry") == []


def test_nothing_is_owed_to_a_batch_that_is_over():
    assert planned_for_nursery(batch(is_over=True), noon(11)) == ()


def test_planning_again_at_any_time_of_a_day_keeps_its_keys_and_times():
    seen: dict[str, datetime] = {}
    for minutes in range(0, 3 * 24 * 60, 37):
        for duty in planned_for_nursery(batch(set_going=(BEGAN - DAY,)), BEGAN + timedelta(minutes=minutes)):
            assert seen.setdefault(duty.key, duty.due_at) == duty.due_at


@given(
    at=st.datetimes(datetime(2026, 1, 1), datetime(2027, 1, 1))
    | st.datetimes(datetime(2011, 12, 25), datetime(2012, 1, 5)),
    out=st.times(), on=st.times(), meals=st.integers(0, 24),
    zone=st.sampled_from(["Europe/Berlin", "Pacific/Apia", "America/St_Johns", "Australia/Lord_Howe"]),
)  # fmt: skip
def test_under_any_lamps_meals_come_in_order_by_light_and_share_out_the_day(at, out, on, meals, zone):
    lamps = Lamps(ZoneInfo(zone), out, on)
    now = at.replace(tzinfo=ZoneInfo("UTC"))
    young = batch(lamps=lamps, meals_a_day=meals, began=now - 3 * DAY, first_meal_at=now - 3 * DAY)
    duties = planned_for_nursery(young, now)
    feedings = sorted(of_kind(duties, "feed_fry"), key=lambda meal: (meal.due_at, meal.until_at))
    assert len({duty.key for duty in duties}) == len(duties)
    assert all(one.until_at <= other.until_at for one, other in pairwise(feedings))
    assert out == on or all(lamps.night_of(meal.due_at) == meal.night for meal in feedings)
    assert all(duty.until_at > max(now, duty.due_at) for duty in duties)
    assert len({(duty.kind, duty.due_at) for duty in duties}) == len(duties)
