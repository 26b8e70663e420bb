"""Who has his turn is asked first, an hour before everybody is, and what somebody takes on goes to nobody else."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from domain.hold import BROOD, HOUR, local
from holdwatch.domain.duties import Duty
from holdwatch.records.instants import instant_text
from holdwatch.services.duties import work
from services.reminding import Recorder, keep
from sync.pushing import added, edited, push, stamp

# A Wednesday.
NIGHT = date(2026, 11, 25)
TOLD = local(25, 18, 30)
CATCH = Duty(f"catch:{BROOD}", "catch_tonight", BROOD, NIGHT, local(25, 22, 30), TOLD, local(26, 9))
LOOK = Duty(f"look:{BROOD}:2026-11-25", "look_tonight", BROOD, NIGHT, local(25, 22), local(25, 22), local(26, 9))


def say_turn(engine, neighbours, role, weekdays="WE", **more):
    """Keep a turn as a phone sends it."""
    owner, whom = neighbours.owner.who, getattr(neighbours, role).who
    change = added(owner, "rota", person=whom.person_id, weekdays=weekdays, **more)
    (verdict,) = push(engine, owner, [change]).verdicts
    assert verdict.verdict == "taken", verdict
    return change


def say_away(engine, neighbours, role, at):
    owner, whom = neighbours.owner.who, getattr(neighbours, role).who
    span = {"since": instant_text(at - HOUR), "until": instant_text(at + 6 * HOUR)}
    push(engine, owner, [added(owner, "absence", person=whom.person_id, **span)])


def told(engine, channel, at):
    """Who was told anything by a round at that time."""
    before = len(channel.sent)
    work(engine, at, {"push": channel}, "w")
    return sorted(endpoint for endpoint, _ in channel.sent[before:])


def test_whose_turn_it_is_hears_of_the_catch_first_and_an_hour_before_all_do(engine, home, neighbours, phones):
    say_turn(engine, neighbours, "helper", "MO,WE")
    say_turn(engine, neighbours, "keeper", "TH")
    channel = Recorder()
    keep(engine, home, CATCH)
    assert told(engine, channel, TOLD) == ["helper"]
    assert told(engine, channel, CATCH.due_at - timedelta(minutes=61)) == []
    assert told(engine, channel, CATCH.due_at - HOUR) == ["keeper", "owner"]
    assert told(engine, channel, CATCH.due_at) == []


def test_what_is_taken_meanwhile_is_asked_of_nobody_else(engine, home, neighbours, phones):
    say_turn(engine, neighbours, "helper")
    channel = Recorder()
    keep(engine, home, CATCH)
    assert told(engine, channel, TOLD) == ["helper"]
    keep(engine, home, replace(CATCH, taken_by=neighbours.helper.who.person_id))
    assert told(engine, channel, TOLD + HOUR) == []
    assert told(engine, channel, CATCH.due_at - HOUR) == []
    # Given back within the hour it is everybody's at once.
    keep(engine, home, CATCH)
    assert told(engine, channel, CATCH.due_at - HOUR / 2) == ["keeper", "owner"]


def test_who_was_asked_before_it_is_time_is_reminded_when_it_is(engine, home, neighbours, phones):
    say_turn(engine, neighbours, "helper")
    channel = Recorder()
    keep(engine, home, LOOK)
    assert told(engine, channel, LOOK.due_at - 2 * HOUR - timedelta(minutes=1)) == []
    assert told(engine, channel, LOOK.due_at - 2 * HOUR) == ["helper"]
    keep(engine, home, replace(LOOK, taken_by=neighbours.helper.who.person_id))
    assert told(engine, channel, LOOK.due_at - HOUR) == []
    assert told(engine, channel, LOOK.due_at) == ["helper"]
    assert told(engine, channel, LOOK.due_at + HOUR) == []


def test_who_takes_it_from_whose_turn_it_is_is_the_only_one_to_be_reminded(engine, home, neighbours, phones):
    say_turn(engine, neighbours, "helper")
    channel = Recorder()
    keep(engine, home, LOOK)
    assert told(engine, channel, LOOK.due_at - 2 * HOUR) == ["helper"]
    assert told(engine, channel, LOOK.due_at - HOUR) == ["keeper", "owner"]
    keep(engine, home, replace(LOOK, taken_by=neighbours.owner.who.person_id))
    assert told(engine, channel, LOOK.due_at) == ["owner"]


@pytest.mark.parametrize("weekdays", ["TU", "", None])
def test_on_a_day_without_a_turn_all_are_told_when_it_is_time(engine, home, neighbours, phones, weekdays):
    say_turn(engine, neighbours, "helper", weekdays)
    say_turn(engine, neighbours, "keeper", gone=True)
    channel = Recorder()
    keep(engine, home, CATCH, LOOK)
    assert told(engine, channel, TOLD) == ["helper", "keeper", "owner"]
    assert told(engine, channel, LOOK.due_at - timedelta(minutes=1)) == []
    assert told(engine, channel, LOOK.due_at) == ["helper", "keeper", "owner"]


def test_who_is_away_at_that_time_has_no_turn(engine, home, neighbours, phones):
    say_turn(engine, neighbours, "helper")
    say_away(engine, neighbours, "helper", CATCH.due_at)
    channel = Recorder()
    keep(engine, home, CATCH)
    assert told(engine, channel, TOLD) == ["helper", "keeper", "owner"]


def test_a_turn_that_is_given_to_another_day_counts_as_it_stands(engine, home, neighbours, phones):
    change = say_turn(engine, neighbours, "helper", "TU")
    push(engine, neighbours.owner.who, [edited(change, stamp(1), stamp(), None, weekdays="WE,SU")])
    channel = Recorder()
    keep(engine, home, CATCH)
    assert told(engine, channel, TOLD) == ["helper"]


@pytest.mark.parametrize("weekdays", ["Tuesday", "TU,", ",TU", "tu", "TU WE", "XX", 2])
def test_a_day_that_is_none_is_refused_with_a_reason(engine, neighbours, weekdays):
    owner = neighbours.owner.who
    (verdict,) = push(engine, owner, [added(owner, "rota", person=owner.person_id, weekdays=weekdays)]).verdicts
    assert verdict.verdict == "refused" and "weekdays" in verdict.reason


def test_a_round_started_again_asks_nobody_twice(engine, home, neighbours, phones):
    say_turn(engine, neighbours, "helper")
    channel = Recorder()
    keep(engine, home, LOOK)
    for minutes in range(-130, 30):
        work(engine, LOOK.due_at + timedelta(minutes=minutes), {"push": channel}, f"w{minutes}")
    names = sorted(endpoint for endpoint, _ in channel.sent)
    # The helper is asked first, and reminded when it is time.
    assert names == ["helper", "helper", "keeper", "owner"]


def when_told(engine, channel, at):
    """Every minute at which anybody was told, in minutes before and after it is due, from three hours before it."""
    found = [(minute, told(engine, channel, at + timedelta(minutes=minute))) for minute in range(-180, 31)]
    return [(minute, names) for minute, names in found if names]


def test_who_takes_it_early_and_puts_it_off_hears_of_it_when_he_said_and_when_it_is_time(
    engine, home, neighbours, phones
):
    helper = neighbours.helper.who.person_id
    say_turn(engine, neighbours, "helper")
    channel = Recorder()
    keep(engine, home, LOOK)
    assert told(engine, channel, LOOK.due_at - 2 * HOUR) == ["helper"]
    later = (helper, LOOK.due_at - timedelta(minutes=85))
    keep(engine, home, replace(LOOK, taken_by=helper, put_off=(later,)))
    assert when_told(engine, channel, LOOK.due_at) == [(-85, ["helper"]), (0, ["helper"])]


def test_who_puts_it_off_past_its_time_is_not_told_when_others_are(engine, home, neighbours, phones):
    later = (neighbours.helper.who.person_id, LOOK.due_at + timedelta(minutes=10))
    channel = Recorder()
    keep(engine, home, replace(LOOK, put_off=(later,)))
    assert when_told(engine, channel, LOOK.due_at) == [(0, ["keeper", "owner"]), (10, ["helper"])]


def test_who_hears_within_two_hours_that_it_has_moved_is_not_asked_in_the_same_minute(engine, home, neighbours, phones):
    say_turn(engine, neighbours, "helper")
    channel = Recorder()
    by_day = LOOK.due_at - timedelta(minutes=150)
    keep(engine, home, replace(LOOK, kind="look_by_day", due_at=by_day, tell_at=by_day))
    assert told(engine, channel, by_day - timedelta(minutes=119)) == ["helper"]
    keep(engine, home, LOOK)
    # Told that it has moved; an hour before all are; and again when it is time.
    expected = [(-100, ["helper"]), (-60, ["keeper", "owner"]), (0, ["helper"])]
    found = [(minute, told(engine, channel, LOOK.due_at + timedelta(minutes=minute))) for minute in range(-100, 31)]
    assert [(minute, names) for minute, names in found if names] == expected


def test_an_alarm_does_not_wait_for_a_sleep_behind_duties_that_tell_nobody(engine, home, neighbours, phones):
    say_turn(engine, neighbours, "helper", "MO")
    keep(engine, home, *[replace(LOOK, key=f"look:{BROOD}:{number}") for number in range(450)])
    now = LOOK.due_at - timedelta(minutes=118)
    alarm = Duty(f"loose:{BROOD}:2026-11-25", "fry_loose", BROOD, NIGHT, now, now, now + 12 * HOUR)
    keep(engine, home, alarm)
    channel = Recorder()
    # The loop goes on at once for as long as a round has found anything.
    while work(engine, now, {"push": channel}, "w"):
        pass
    assert {duty for _, duty in channel.sent} == {alarm.key} and len(channel.sent) == 3
