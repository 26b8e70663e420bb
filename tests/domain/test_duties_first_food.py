"""The first food of a brood: set going so that it is alive when they eat, under an uncertain hatch."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from domain.fry import REARING, TIN
from domain.hold import BROOD, HOUR, LAMPS_ON, LAMPS_OUT, ZONE, local, look, mark, outlook, watched
from holdwatch.domain.duties import Amount, Duty, Lamps, Planned, Supply, planned_first_food
from holdwatch.domain.duties.hatches import by_day
from holdwatch.domain.first_meal import cost_quantile, first_meal_at
from holdwatch.domain.ration import UNKNOWN_TIN

DAY = timedelta(days=1)
NOW = local(18, 10)
SUPPLY = Supply(REARING, TIN)
LAMPS = Lamps(ZONE, LAMPS_OUT, LAMPS_ON)


def quantiles(middle, spread=DAY):
    """Hatching about a time, a normal with that deviation: its quantiles from tables of the normal distribution."""
    z = {0.05: -1.6449, 0.1: -1.2816, 0.25: -0.6745, 0.5: 0.0, 0.75: 0.6745, 0.9: 1.2816, 0.95: 1.6449}
    return tuple((chance, middle + spread * deviations) for chance, deviations in z.items())


def planned(now=NOW, standing=None, supply=SUPPLY, seen=(), is_told=True, **changes) -> list[Duty]:
    before = [Planned(standing, is_told)] if standing else []
    ahead = outlook(now, **{"hatched": quantiles(local(21, 12)), "catch": date(2026, 11, 25)} | changes)
    return list(planned_first_food(watched(*seen), ahead, supply, before, now))


def first_food(*args, **changes) -> Duty | None:
    """The only one, or none."""
    (one,) = planned(*args, **changes) or [None]
    return one


def test_it_is_set_going_so_that_it_is_ready_when_lamps_come_on_after_the_catch():
    """Hatched on the 21st, yolk for three days: used up by the morning of the 26th. 20.5 h before that."""
    duty = first_food()
    assert (duty.key, duty.due_at, duty.until_at) == (f"food:{BROOD}", local(25, 12, 30), local(26, 12, 30))


def test_where_the_hatch_is_late_the_yolk_decides_and_the_costs_say_how_sure_to_be():
    """A batch wasted costs a twentieth of starving young: late in one case of 21 (newsvendor)."""
    hatched = quantiles(local(25, 12), spread=DAY / 10)
    meal = first_meal_at(dict(hatched), REARING.yolk_days, REARING.yolk_days_spread, local(26, 9), cost_quantile(20))
    assert local(26, 9) < meal < local(28, 12)
    duty = first_food(hatched=hatched)
    assert timedelta(0) <= meal - timedelta(hours=20.5) - duty.due_at < timedelta(hours=14)
    assert duty.due_at == by_day(meal - timedelta(hours=20.5), LAMPS)


def test_nobody_gets_up_for_it():
    for minutes in range(0, 24 * 60, 7):
        at = local(24, 12) + timedelta(minutes=minutes)
        day = by_day(at, LAMPS)
        assert day <= at and day < LAMPS.out(LAMPS.night_of(day)) and at - day <= timedelta(hours=13.5)


def test_grams_are_those_for_as_many_as_the_species_has():
    """21 young (Sugama 2008), 60 nauplii each (assumption), a fifth lost: 21·60 / (0.8·200,000) g."""
    assert first_food().amount == Amount(0.0079, "g", 1, "level blue spoon")
    assert first_food(supply=Supply(REARING, UNKNOWN_TIN)).amount is None


def test_a_culture_that_has_to_grow_is_begun_days_before():
    rotifers = replace(REARING, first_food="rotifers", culture_days=7.0)
    # A week and half an hour before the 26th at 9:00 it is still dark.
    assert first_food(supply=Supply(rotifers, TIN)).due_at == local(18, 19, 30)


def test_a_move_that_people_need_not_mind_is_left_once_they_were_told_and_a_great_one_is_told():
    told = first_food()
    assert first_food(told.due_at + HOUR, told, catch=date(2026, 11, 26)) == told
    assert first_food(told.due_at - HOUR, told, catch=date(2026, 11, 26)) == told
    later = told.due_at + HOUR
    assert first_food(later, told, catch=date(2026, 11, 27)).due_at == told.due_at + 2 * DAY
    sooner = first_food(told.due_at - 3 * DAY, told, catch=date(2026, 11, 24))
    assert sooner.due_at == told.due_at - DAY


def test_before_anybody_was_told_it_follows_the_forecast():
    planned = first_food()
    assert first_food(NOW, planned, is_told=False, catch=date(2026, 11, 26)).due_at == planned.due_at + DAY


def test_a_forecast_that_drifts_by_minutes_tells_nobody_of_each():
    standing, times = first_food(), set()
    for hours in range(1, 30):
        drifted = quantiles(local(25, 12) + timedelta(minutes=7 * hours), spread=DAY / 10)
        standing = first_food(standing.due_at - HOUR, standing, hatched=drifted)
        times.add(standing.due_at)
    assert len(times) <= 2


def test_a_male_who_is_overdue_day_after_day_has_food_asked_for_every_other_day_and_never_in_the_past():
    standing = first_food(catch=date(2026, 11, 19))
    asked = [standing.due_at]
    for hours in range(0, 8 * 24, 6):
        now = local(18, 12) + timedelta(hours=hours)
        tonight = LAMPS.night_of(now)
        next_one = first_food(now, standing, catch=tonight)
        if next_one and next_one.due_at != standing.due_at:
            assert next_one.due_at >= now and next_one.due_at - standing.due_at >= 1.5 * DAY
            asked.append(next_one.due_at)
        standing = next_one or standing
    assert 3 <= len(asked) <= 5


def test_what_was_set_going_does_it_until_the_time_has_moved_away():
    told = first_food()
    started = told.due_at + HOUR
    supply = replace(SUPPLY, set_going=(started,))
    assert first_food(started + HOUR, told, supply).done_at == started
    done, another = planned(started + HOUR, told, supply, catch=date(2026, 11, 28))
    assert (done.key, done.done_at) == (told.key, started)
    assert (another.key, another.done_at) == (f"food:{BROOD}:2026-11-28", None)
    tapped = [mark("done", "ada", started, told.key)]
    _, another = planned(started + HOUR, told, seen=tapped, catch=date(2026, 11, 28))
    assert another.done_at is None
    again = planned(another.due_at - HOUR, another, supply, tapped, catch=date(2026, 11, 28))
    assert [duty.key for duty in again] == [another.key]


def test_what_people_said_of_it_counts():
    duty = first_food(seen=(mark("taken", "ada", NOW, f"food:{BROOD}"),))
    assert duty.taken_by == "ada"


@pytest.mark.parametrize("changes", [{"catch": None}, {"hatched": ()}])
def test_without_a_night_or_a_hatch_there_is_none(changes):
    assert first_food(**changes) is None


def test_while_a_loss_is_only_likely_what_stands_is_kept_and_else_it_goes():
    told = first_food()
    assert first_food(NOW, told, catch=None, lost=0.6) == told
    assert first_food(NOW, told, catch=None, lost=0.02) is None
    empty = [look(local(16, hour), light="daylight", mouth="normal") for hour in (8, 21)]
    assert first_food(NOW, told, seen=empty, catch=None, lost=0.9) is None
    assert list(planned_first_food(watched(), None, SUPPLY, [Planned(told, True)], NOW)) == [told]


def test_nothing_is_set_going_for_a_brood_that_is_over():
    ahead = outlook(NOW, hatched=quantiles(local(21, 12)))
    assert list(planned_first_food(watched(ended="caught"), ahead, SUPPLY, [], NOW)) == []
