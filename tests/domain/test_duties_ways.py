"""What is planned for a look that the forecast asks for, and for species that hatch after dark."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from domain.hold import BROOD, local, look, nights, of_kind, one, outlook, watched
from holdwatch.domain.duties import LookAhead, planned
from holdwatch.domain.duties.outlook import surely_empty
from holdwatch.domain.species import AT_HATCHING, NEST


def test_the_look_that_the_forecast_asks_for_is_planned_at_the_feeding_where_it_wants_day_light():
    now = local(12, 12)
    at = local(13, 19, 30)
    asked = outlook(now, next_look=LookAhead(date(2026, 11, 13), at, "daylight"))
    (by_day,) = of_kind(planned(watched(look(local(11, 22))), asked, (), now), "look_by_day")
    assert (by_day.night, by_day.due_at) == (date(2026, 11, 13), at)
    assert by_day.key == f"look:{BROOD}:2026-11-13"


def test_a_look_asked_for_under_red_is_the_look_of_that_night_and_not_a_second_one():
    now = local(12, 12)
    asked = outlook(now, next_look=LookAhead(date(2026, 11, 13), local(13, 22), "red"))
    duties = planned(watched(look(local(11, 22))), asked, (), now)
    assert 13 in nights(duties) and len(nights(duties)) == len(set(nights(duties)))


def test_a_nest_is_looked_at_by_day_alone_and_its_larvae_are_collected_on_the_hatch_night():
    """McAlary & McFarland 1993: a minute of light every ten kept all from hatching."""
    now = local(19, 12)
    duties = planned(replace(watched(), nest=True), outlook(now, way=NEST), (), now)
    assert of_kind(duties, "look_tonight") == [] and of_kind(duties, "catch_tonight") == []
    assert all(duty.due_at < local(duty.night.day, 21, 30) for duty in of_kind(duties, "look_by_day"))
    assert of_kind(duties, "look_by_day")
    collect = one(duties, "collect_larvae")
    assert (collect.night, collect.due_at) == (date(2026, 11, 25), local(25, 22, 30))


def test_a_male_who_lets_go_at_hatching_is_moved_the_evening_before_and_never_netted():
    now = local(19, 12)
    duties = planned(watched(), outlook(now, way=AT_HATCHING), (), now)
    assert of_kind(duties, "catch_tonight") == []
    assert one(duties, "move_male").night == date(2026, 11, 24)
    late = local(25, 12)
    assert one(planned(watched(), outlook(late, way=AT_HATCHING), (), late), "move_male").night == date(2026, 11, 25)


def test_loose_fry_of_a_nest_are_larvae_in_the_water():
    now = local(19, 23)
    seen = look(local(19, 22, 45), loose_fry="seen", mouth=None, clutch="there")
    duties = planned(replace(watched(seen), nest=True), outlook(now, way=NEST), (), now)
    assert one(duties, "larvae_loose").due_at == local(19, 22, 45)
    assert of_kind(duties, "fry_loose") == []


def test_a_clutch_found_gone_twice_is_gone_whatever_the_guards_mouth_looks_like():
    gone = look(local(12, 12), light="daylight", mouth="full", clutch="gone")
    again = look(local(13, 12), light="daylight", mouth="full", clutch="gone")
    there = look(local(12, 12), light="daylight", mouth="normal", clutch="there")
    assert surely_empty((gone, again))
    assert not surely_empty((there, replace(there, id="later", at=local(13, 12))))
