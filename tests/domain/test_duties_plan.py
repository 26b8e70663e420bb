"""Which duties follow from a forecast, and when people are told."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from domain.hold import BROOD, HOUR, LAMPS_ON, ZONE, local, look, mark, nights, of_kind, one, outlook, watched
from holdwatch.domain.duties import Prospects, planned


def test_the_catch_is_told_four_hours_ahead_and_is_of_use_until_the_lamps_come_on():
    catch = one(planned(watched(), outlook(local(24, 10)), (), local(24, 10)), "catch_tonight")
    assert catch.key == f"catch:{BROOD}"
    assert (catch.night, catch.due_at) == (date(2026, 11, 25), local(25, 22, 30))
    assert (catch.tell_at, catch.until_at) == (local(25, 18, 30), local(26, 9))


def test_a_catch_moved_to_another_night_keeps_its_key_and_counts_as_moved():
    now = local(24, 10)
    first = planned(watched(), outlook(now), (), now)
    second = planned(watched(), outlook(now, catch=date(2026, 11, 24)), first, now)
    assert one(second, "catch_tonight").key == one(first, "catch_tonight").key
    assert one(second, "catch_tonight").moved(one(first, "catch_tonight"))


def test_no_catch_is_planned_where_nothing_is_left_to_save():
    now = local(24, 10)
    gone = outlook(now, catch=None, nights=tuple(Prospects(p.night, 0.01) for p in outlook(now).nights))
    assert planned(watched(), gone, (), now) == ()


def test_he_is_looked_at_every_evening_from_two_nights_before_the_hatch_until_the_night_before_the_catch():
    asked = set()
    for day in range(12, 27):
        now = local(day, 10)
        looked = watched(look(local(11, 22)))
        asked |= set(nights(planned(looked, outlook(now), (), now)))
    assert asked == {14, 17, 18, 19, 20, 21, 22, 23, 24}


def test_before_the_window_he_is_looked_at_every_third_evening_after_the_last_look():
    now = local(10, 10)
    early = {"hatch_q05": local(28, 12), "catch": None}
    assert nights(planned(watched(look(local(9, 22))), outlook(now, **early), (), now)) == [12]
    assert nights(planned(watched(look(local(7, 22))), outlook(now, **early), (), now)) == [10, 13]
    # One who was not looked at when he should have been is not nagged about each evening.
    assert nights(planned(watched(look(local(6, 22))), outlook(now, **early), (), now)) == [12]


def test_a_look_is_due_half_an_hour_after_lamps_out():
    now = local(22, 10)
    first = of_kind(planned(watched(), outlook(now), (), now), "look_tonight")[0]
    assert first.key == f"look:{BROOD}:2026-11-22"
    assert first.tell_at == first.due_at == local(22, 22)
    assert first.until_at == local(23, 9)


def test_a_look_at_the_feeding_is_the_evenings_look():
    now = local(22, 19)
    asked = planned(watched(look(local(22, 18), light="daylight")), outlook(now), (), now)
    done = {duty.night.day: duty.done_at for duty in of_kind(asked, "look_tonight")}
    assert done == {22: local(22, 18), 23: None, 24: None}


def test_a_look_at_noon_leaves_the_evenings_look_to_do():
    now = local(22, 22)
    asked = planned(watched(look(local(22, 12, 39), light="daylight")), outlook(now), (), now)
    assert of_kind(asked, "look_tonight")[0].done_at is None


def test_a_recalled_look_is_not_the_evenings_look():
    now = local(22, 23)
    asked = planned(watched(look(local(22, 22), recalled=True)), outlook(now), (), now)
    assert of_kind(asked, "look_tonight")[0].done_at is None


def test_after_midnight_tonight_is_still_the_evening_that_began():
    now = local(23, 1)
    asked = planned(watched(look(local(23, 0, 30))), outlook(now), (), now)
    first = of_kind(asked, "look_tonight")[0]
    assert (first.night.day, first.done_at) == (22, local(23, 0, 30))


def test_nobody_is_sent_to_look_at_a_male_who_holds_nothing():
    now = local(22, 10)
    empty = tuple(Prospects(p.night, 0.04) for p in outlook(now).nights)
    assert nights(planned(watched(), outlook(now, nights=empty), (), now)) == []


def test_the_window_is_told_on_the_evening_two_days_before_the_hatchs_ten_percent_quantile():
    window = one(planned(watched(), outlook(local(15, 10)), (), local(15, 10)), "window_opens")
    assert window.key == f"window:{BROOD}"
    assert window.tell_at == window.due_at == local(19, 18, 30)
    assert window.until_at == local(26, 9)


def test_a_window_once_told_stands_however_the_hatch_moves():
    before = planned(watched(), outlook(local(15, 10)), (), local(15, 10))
    now = local(20, 10)
    moved = planned(watched(), outlook(now, hatch_q10=local(24, 6)), before, now)
    assert one(moved, "window_opens") == one(before, "window_opens")


def test_a_window_not_yet_told_moves_with_the_hatch():
    before = planned(watched(), outlook(local(15, 10)), (), local(15, 10))
    now = local(16, 10)
    moved = planned(watched(), outlook(now, hatch_q10=local(24, 6)), before, now)
    assert one(moved, "window_opens").night == date(2026, 11, 22)


def test_loose_fry_are_told_at_once_and_once_a_night():
    now = local(22, 23)
    seen = [look(local(22, 22, 40), loose_fry="seen"), look(local(22, 22, 55), loose_fry="seen")]
    loose = one(planned(watched(*seen), outlook(now), (), now), "fry_loose")
    assert loose.key == f"loose:{BROOD}:2026-11-22"
    assert loose.due_at == loose.tell_at == local(22, 22, 40)
    assert loose.until_at == loose.due_at + 12 * HOUR
    assert loose.done_at is None


def test_a_phone_whose_clock_runs_ahead_a_little_raises_the_alarm_all_the_same():
    now = local(22, 23)
    assert of_kind(planned(watched(look(now + HOUR / 6, loose_fry="seen")), outlook(now), (), now), "fry_loose")
    assert not of_kind(planned(watched(look(now + HOUR, loose_fry="seen")), outlook(now), (), now), "fry_loose")


def test_loose_fry_of_nobody_knows_which_male_alarm_for_each_that_holds():
    now = local(22, 23)
    seen = look(local(22, 22, 40), loose_fry="seen")
    holds = replace(watched(), unsure=(seen,))
    assert one(planned(holds, outlook(now), (), now), "fry_loose").due_at == local(22, 22, 40)
    assert not of_kind(planned(replace(holds, ended="lost"), outlook(now), (), now), "fry_loose")


def test_loose_fry_that_were_handled_are_done():
    now = local(23, 0)
    seen = look(local(22, 22, 40), loose_fry="seen")
    handled = mark("loose_fry_handled", "p1", local(22, 23))
    assert one(planned(watched(seen, handled), outlook(now), (), now), "fry_loose").done_at == local(22, 23)
    by_key = mark("done", "p1", local(22, 23), f"loose:{BROOD}:2026-11-22")
    assert one(planned(watched(seen, by_key), outlook(now), (), now), "fry_loose").done_at == local(22, 23)


def test_fry_seen_after_a_handling_raise_the_alarm_again():
    now = local(23, 2)
    told = [
        look(local(22, 22, 40), loose_fry="seen"),
        mark("loose_fry_handled", "p1", local(22, 23)),
        look(local(23, 1), loose_fry="seen"),
    ]
    first = one(planned(watched(*told[:2]), outlook(now), (), now), "fry_loose")
    again = one(planned(watched(*told), outlook(now), (), now), "fry_loose")
    assert again.done_at is None and again.due_at == local(23, 1)
    assert again.key == first.key and again.moved(first)


def test_loose_fry_do_not_move_while_their_first_sighting_grows_old():
    seen = [look(local(22, 20), loose_fry="seen"), look(local(22, 23), loose_fry="seen")]
    for hours in (4, 8, 11):
        now = local(22, 20) + hours * HOUR
        assert one(planned(watched(*seen), outlook(now), (), now), "fry_loose").due_at == local(22, 20)
    now = local(22, 20) + 13 * HOUR
    assert not of_kind(planned(watched(*seen), outlook(now), (), now), "fry_loose")


def test_loose_fry_outlast_the_end_of_the_brood_and_nothing_else_does():
    now = local(22, 23)
    seen = look(local(22, 22, 40), loose_fry="seen")
    for ended in ("caught", "released", "lost"):
        assert [d.kind for d in planned(watched(seen, ended=ended), outlook(now), (), now)] == ["fry_loose"]
    assert planned(watched(seen, ended="mistake"), outlook(now), (), now) == ()


def test_a_likely_loss_is_told_while_the_lamps_are_on():
    by_day, by_night = local(22, 15), local(22, 23)
    assert one(planned(watched(), outlook(by_day, lost=0.75), (), by_day), "may_be_lost").tell_at == by_day
    told = one(planned(watched(), outlook(by_night, lost=0.75), (), by_night), "may_be_lost")
    assert told.tell_at == local(23, 9)


def test_a_likely_loss_does_not_flicker_and_is_told_once():
    now = local(22, 15)
    first = planned(watched(), outlook(now, lost=0.75), (), now)
    assert not of_kind(planned(watched(), outlook(now, lost=0.65), (), now), "may_be_lost")
    later = now + 3 * HOUR
    again = planned(watched(), outlook(later, lost=0.65), first, later)
    assert one(again, "may_be_lost") == one(first, "may_be_lost")
    assert not of_kind(planned(watched(), outlook(later, lost=0.45), first, later), "may_be_lost")


@pytest.mark.parametrize(
    ("looks", "sure"),
    [
        ([], False),
        ([look(local(21, 22), mouth="normal")], False),
        ([look(local(21, 22), mouth="normal"), look(local(22, 14), mouth="normal", light="daylight")], True),
        ([look(local(21, 22), mouth="normal"), look(local(22, 14), mouth="normal", light="dim_white")], True),
        ([look(local(21, 14), mouth="normal", light="daylight"), look(local(22, 22), mouth="normal")], True),
        # Both under red light.
        ([look(local(21, 22), mouth="normal"), look(local(22, 22), mouth="normal")], False),
        # Less than twelve hours apart.
        ([look(local(22, 10), mouth="normal"), look(local(22, 20), mouth="normal", light="daylight")], False),
        # Somebody saw him full in between, or after.
        (
            [
                look(local(20, 22), mouth="normal"),
                look(local(21, 22)),
                look(local(22, 14), mouth="normal", light="daylight"),
            ],
            False,
        ),
        (
            [
                look(local(20, 22), mouth="normal"),
                look(local(21, 14), mouth="normal", light="daylight"),
                look(local(22, 14), mouth="full"),
            ],
            False,
        ),
        # Filled in afterwards.
        (
            [
                look(local(21, 10), mouth="normal", recalled=True),
                look(local(22, 14), mouth="normal", light="daylight"),
            ],
            False,
        ),
    ],
)
def test_a_loss_withdraws_duties_only_after_two_agreeing_looks_one_in_white_light(looks, sure):
    before = planned(watched(), outlook(local(21, 9)), (), local(21, 9))
    now = local(22, 23)
    nothing = {"lost": 0.97, "catch": None}
    empty = tuple(Prospects(p.night, 0.03) for p in outlook(now).nights)
    after = planned(watched(*looks), outlook(now, nights=empty, **nothing), before, now)
    kept = {duty.key for duty in before if duty.until_at > now} <= {duty.key for duty in after}
    assert kept is not sure
    assert bool(of_kind(after, "catch_tonight")) is not sure
    assert bool(of_kind(after, "may_be_lost")) is not sure


def test_without_a_forecast_what_stands_is_kept_and_what_is_over_is_not():
    before = planned(watched(), outlook(local(21, 9)), (), local(21, 9))
    now = local(23, 8)
    kept = planned(watched(), None, before, now)
    assert {duty.key for duty in kept} == {duty.key for duty in before if duty.until_at > now}
    assert planned(watched(), None, before, local(30, 8)) == ()


def test_loose_fry_belong_to_the_night_until_its_lamps_come_on_and_then_to_the_coming_one():
    sightings = [look(local(23, 8, 59), loose_fry="seen"), look(local(23, 9), loose_fry="seen")]
    now = local(23, 9, 10)
    loose = of_kind(planned(watched(*sightings), outlook(now), (), now), "fry_loose")
    assert [duty.night for duty in loose] == [date(2026, 11, 22), date(2026, 11, 23)]


@pytest.mark.parametrize(("day", "month", "night_hours"), [(28, 3, 10.5), (24, 10, 12.5), (10, 11, 11.5)])
def test_a_night_in_which_the_clocks_change_ends_when_the_lamps_come_on(day, month, night_hours):
    now = local(day, 15, month=month)
    tonight = outlook(now)
    out, morning = tonight.out(tonight.nights[0].night), tonight.morning(tonight.nights[0].night)
    assert morning - out == timedelta(hours=night_hours)
    assert morning.astimezone(ZONE).time() == LAMPS_ON
