"""Who is asked first, and when everybody is called (the hours are assumptions of the plan)."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import get_args

import pytest

from domain.hold import BROOD, HOUR, local
from holdwatch.domain.duties import Duty
from holdwatch.domain.duties.duty import Kind
from holdwatch.domain.duties.turns import IN_TURN, asking, first_asked_at, weekday

# The client's tests read the same.
VECTORS = json.loads((Path(__file__).parents[1] / "turn_vectors.json").read_text("utf-8"))
MINUTE = timedelta(minutes=1)
NIGHT = date(2026, 11, 25)
CATCH = Duty(f"catch:{BROOD}", "catch_tonight", BROOD, NIGHT, local(25, 22, 30), local(25, 18, 30), local(26, 9))
LOOK = Duty(f"look:{BROOD}:2026-11-25", "look_tonight", BROOD, NIGHT, local(25, 22), local(25, 22), local(26, 9))
LOOSE = Duty(f"loose:{BROOD}:2026-11-25", "fry_loose", BROOD, NIGHT, local(25, 22), local(25, 22), local(26, 9))


def course(duty, turns):
    """(hours before it is due, whom, again) at each time at which the queue looks at it."""
    at, told = first_asked_at(duty), []
    while at is not None:
        step = asking(duty, turns, at)
        told.append(((duty.due_at - at) / HOUR, step.whom, step.again))
        assert step.next_at is None or step.next_at > at
        at = step.next_at
    return told


def test_days_of_the_week_are_named_as_in_rfc_5545():
    """RFC 5545, 3.8.5.3: 2 September 1997 is the Tuesday of its weekly examples, and 19970507 a Wednesday."""
    assert weekday(date(1997, 9, 2)) == "TU" and weekday(date(1997, 5, 7)) == "WE"
    assert [weekday(date(1997, 9, day)) for day in range(1, 8)] == ["MO", "TU", "WE", "TH", "FR", "SA", "SU"]


def test_days_and_the_kinds_that_have_turns_are_those_of_the_phones_too():
    assert [weekday(date.fromisoformat(one["date"])) for one in VECTORS["weekdays"]] == [
        one["day"] for one in VECTORS["weekdays"]
    ]
    assert set(VECTORS["in_turn"]) == IN_TURN and set(VECTORS["at_once"]) == set(get_args(Kind)) - IN_TURN


def test_a_catch_is_asked_of_whose_turn_it_is_and_an_hour_before_of_everybody():
    assert course(CATCH, {"joris"}) == [(4, {"joris"}, set()), (1, None, set())]


def test_a_look_is_asked_two_hours_before_everybodys_an_hour_before_and_told_again_when_it_is_time():
    assert course(LOOK, {"joris"}) == [(2, {"joris"}, set()), (1, None, set()), (0, None, {"joris"})]


def test_what_somebody_has_taken_goes_to_nobody_else_and_is_told_him_when_it_is_time():
    assert course(replace(LOOK, taken_by="ilka"), {"joris"}) == [
        (2, set(), set()),
        (1, set(), set()),
        (0, None, {"ilka"}),
    ]


@pytest.mark.parametrize("duty", [CATCH, LOOK, LOOSE])
def test_without_a_turn_everybody_is_told_when_it_is_time(duty):
    assert asking(duty, (), duty.tell_at - MINUTE).whom == set()
    assert asking(duty, (), duty.tell_at - MINUTE).next_at == duty.tell_at
    assert asking(duty, (), duty.tell_at).whom is None and asking(duty, (), duty.tell_at).next_at is None


def test_what_cannot_wait_is_everybodys_at_once_whosever_turn_it_is():
    assert course(LOOSE, {"joris"}) == [(0, None, set())]


def test_a_night_that_is_named_within_the_hour_is_everybodys_at_once():
    late = replace(CATCH, tell_at=CATCH.due_at - 10 * MINUTE)
    assert asking(late, {"joris"}, late.due_at - 5 * MINUTE).whom is None
