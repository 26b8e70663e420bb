"""What is owed to him and to the water once his brood is over: common practice, no source, unless it says otherwise."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from domain.hold import BROOD, HOUR, local, mark, of_kind, one, outlook, watched
from holdwatch.domain.duties import Duty, Over, planned

DAY = timedelta(days=1)
CAUGHT = local(25, 22, 40)


def after(over: Over, now: datetime, standing=(), nest=False, *marks) -> tuple[Duty, ...]:
    ended = replace(watched(*marks, ended=over.how), over=over, nest=nest)
    return planned(ended, None, standing, now)


def test_after_a_catch_all_is_owed_in_the_order_of_its_time():
    duties = after(Over("caught", CAUGHT), CAUGHT)
    assert [(duty.kind, duty.due_at) for duty in duties] == [
        ("pumps_on", CAUGHT + HOUR / 2),
        ("part_pair", local(26, 9)),
        ("eating_again", local(28, 19, 30)),
        ("condition_check", local(5, 19, 30, month=12)),
        ("rest_over", local(25, 19, 30, month=12)),
    ]
    assert all(duty.tell_at == duty.due_at and duty.key.endswith(f":{BROOD}") for duty in duties)


def test_after_a_month_he_may_be_paired_again_and_not_before():
    """Rest of about a month after a brood: common practice, no source."""
    rest = one(after(Over("released", CAUGHT), CAUGHT), "rest_over")
    assert timedelta(days=29) < rest.due_at - CAUGHT < timedelta(days=31)


def test_once_somebody_says_that_he_has_rested_he_is_to_be_paired_again_and_not_before():
    key, later = f"rest:{BROOD}", local(25, 19, 40, month=12)
    over = Over("caught", CAUGHT)
    assert not of_kind(after(over, later), "pair_again")
    assert not of_kind(after(over, later, (), False, mark("skipped", "ada", later, key)), "pair_again")
    done = mark("done", "ada", later, key)
    pair = one(after(over, later, (), False, done), "pair_again")
    assert (pair.key, pair.due_at) == (f"pair:{BROOD}", local(26, 19, 30, month=12))
    assert not of_kind(after(replace(over, holds_again=True), later, (), False, done), "pair_again")
    early = mark("done", "ada", local(25, 12, month=12), key)
    assert one(after(over, later, (), False, early), "pair_again").due_at == local(25, 19, 30, month=12)


@pytest.mark.parametrize("how", ["released", "lost"])
def test_where_he_was_not_caught_no_pump_was_off(how):
    assert [duty.kind for duty in after(Over(how, CAUGHT), CAUGHT)][0] == "part_pair"


def test_at_a_nest_nobody_fasted_and_nobody_is_parted():
    assert after(Over("released", CAUGHT), CAUGHT, nest=True) == ()


def test_nothing_is_owed_after_a_mistake_or_to_who_holds_again():
    assert after(Over("mistake", CAUGHT), CAUGHT) == ()
    assert [duty.kind for duty in after(Over("caught", CAUGHT, holds_again=True), CAUGHT)] == ["pumps_on"]


def test_what_is_long_past_is_not_asked_for_when_an_old_brood_is_written_down():
    assert after(Over("caught", CAUGHT - 100 * DAY), CAUGHT) == ()
    assert [duty.kind for duty in after(Over("caught", CAUGHT - 20 * DAY), CAUGHT)] == ["rest_over"]


def test_a_meal_that_he_took_answers_whether_he_eats_and_one_before_the_end_does_not():
    early, meal = CAUGHT - HOUR, CAUGHT + 2 * DAY
    assert one(after(Over("caught", CAUGHT, (early,)), meal), "eating_again").done_at is None
    assert one(after(Over("caught", CAUGHT, (early, meal, meal + DAY)), meal), "eating_again").done_at == meal


def test_what_was_told_stands_however_the_end_is_dated_afterwards():
    first = after(Over("caught", CAUGHT), CAUGHT)
    later = after(Over("caught", CAUGHT + 20 * timedelta(minutes=1)), CAUGHT + HOUR, first)
    assert one(later, "pumps_on").due_at == CAUGHT + HOUR / 2
    moved = after(Over("caught", CAUGHT - DAY), CAUGHT + HOUR, first)
    assert one(moved, "part_pair").due_at == local(25, 9)


def test_planning_again_changes_nothing_and_marks_count():
    first = after(Over("caught", CAUGHT), CAUGHT)
    assert after(Over("caught", CAUGHT), CAUGHT, first) == first
    done = mark("done", "ada", CAUGHT + HOUR, f"pumps:{BROOD}")
    assert one(after(Over("caught", CAUGHT), CAUGHT + HOUR, first, False, done), "pumps_on").done_at == CAUGHT + HOUR
    assert not of_kind(after(Over("caught", CAUGHT), CAUGHT + 13 * HOUR, first), "pumps_on")


def test_nothing_is_owed_while_the_brood_is_under_way_or_its_end_has_no_time():
    assert planned(watched(), None, (), CAUGHT) == ()
    assert planned(watched(ended="caught"), None, (), CAUGHT) == ()


@pytest.mark.parametrize("how", ["caught", "released"])
def test_whoever_caught_him_has_done_what_was_asked_for_and_where_he_let_them_go_it_is_called_off(how):
    now = local(25, 20)
    asked = planned(watched(), outlook(now), (), now)
    ended = after(Over(how, CAUGHT), CAUGHT, asked)
    assert [duty.done_at for duty in of_kind(ended, "catch_tonight")] == ([CAUGHT] if how == "caught" else [])
    assert not of_kind(ended, "look_tonight")
