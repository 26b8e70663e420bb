"""Who hears that a duty has moved or was withdrawn, or hears of it again because he put it off; and quiet hours."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from domain.hold import BROOD, HOUR, local
from holdwatch.channels.message import Outcome
from holdwatch.domain.duties import Duty
from holdwatch.records.instants import instant_text
from holdwatch.services.duties import WorkDone, work
from holdwatch.services.duties.kept import withdraw
from holdwatch.services.duties.links import read_link
from holdwatch.services.duties.wishes import Wish, keep_wish
from holdwatch.store.database import reading, writing
from services.reminding import Recorder, deliveries, keep
from sync.pushing import added, edited, push, stamp

DUE = local(25, 18, 30)
CATCH = Duty(f"catch:{BROOD}", "catch_tonight", BROOD, date(2026, 11, 25), local(25, 22, 30), DUE, local(26, 9))
LOOK = Duty(
    f"look:{BROOD}:2026-11-25", "look_tonight", BROOD, date(2026, 11, 25), local(25, 22), local(25, 22), local(26, 9)
)
THURSDAY = replace(
    CATCH, night=date(2026, 11, 26), due_at=local(26, 22, 30), tell_at=DUE + 24 * HOUR, until_at=local(27, 9)
)
BERLIN = ZoneInfo("Europe/Berlin")


def titles(channel: Recorder, name: str = "owner") -> list[str]:
    """What one phone got, in order."""
    return [message.title for endpoint, message in channel.messages if endpoint == name]


def take_back(engine, home, now) -> None:
    with writing(engine) as db:
        withdraw(db, home, [CATCH.key], now)


def test_whoever_was_told_of_a_catch_is_told_to_hold_off_and_hears_of_it_again_on_its_night(engine, home, phones):
    channel = Recorder()
    keep(engine, home, CATCH)
    work(engine, DUE, {"push": channel}, "w")
    keep(engine, home, THURSDAY)
    for hours in range(1, 4):
        work(engine, DUE + hours * HOUR, {"push": channel}, "w")
    assert titles(channel) == ["Catch him tonight, 22:30", "Hold off until Thursday 22:30"]
    work(engine, THURSDAY.tell_at, {"push": channel}, "w")
    assert titles(channel)[2:] == ["Catch him tonight, 22:30"]
    assert {row.matter for row in deliveries(engine)} == {"due", "moved"}


def test_nobody_hears_of_a_move_who_never_heard_of_the_duty(engine, home, phones):
    channel = Recorder()
    keep(engine, home, THURSDAY)
    work(engine, DUE, {"push": channel}, "w")
    keep(engine, home, CATCH)
    work(engine, DUE, {"push": channel}, "w")
    assert titles(channel) == ["Catch him tonight, 22:30"]


def test_what_moves_to_this_very_hour_is_told_once_and_as_sooner(engine, home, phones):
    channel = Recorder()
    keep(engine, home, replace(THURSDAY, tell_at=DUE))
    work(engine, DUE, {"push": channel}, "w")
    keep(engine, home, CATCH)
    for minutes in (1, 2):
        work(engine, DUE + timedelta(minutes=minutes), {"push": channel}, "w")
    assert titles(channel)[1:] == ["Sooner: Catch him tonight, 22:30"]


def test_what_moves_there_and_back_before_anybody_hears_is_no_news(engine, home, phones):
    channel = Recorder()
    keep(engine, home, CATCH)
    work(engine, DUE, {"push": channel}, "w")
    keep(engine, home, THURSDAY)
    keep(engine, home, CATCH)
    work(engine, DUE + HOUR, {"push": channel}, "w")
    assert all(message.title == "Catch him tonight, 22:30" for _, message in channel.messages)
    assert "moved" not in {row.matter for row in deliveries(engine)}


def test_a_withdrawn_catch_is_said_to_be_off_once_and_told_anew_where_it_comes_back(engine, home, phones):
    channel = Recorder()
    keep(engine, home, CATCH)
    work(engine, DUE, {"push": channel}, "w")
    take_back(engine, home, DUE + HOUR)
    for hours in (1, 2):
        work(engine, DUE + hours * HOUR, {"push": channel}, "w")
    assert titles(channel) == ["Catch him tonight, 22:30", "Hold off: no catch"]
    # Nothing is to be done any more, so there are no buttons.
    assert [message.has_buttons for endpoint, message in channel.messages if endpoint == "owner"] == [True, False]
    keep(engine, home, CATCH)
    work(engine, DUE + 3 * HOUR, {"push": channel}, "w")
    assert titles(channel)[2:] == ["Catch him tonight, 22:30"]


def test_a_withdrawn_duty_of_which_nobody_was_told_is_passed_over_in_silence(engine, home, phones):
    keep(engine, home, CATCH)
    take_back(engine, home, DUE - HOUR)
    assert work(engine, DUE, {"push": Recorder()}, "w") == WorkDone()
    assert deliveries(engine) == []


def test_a_look_that_is_no_longer_asked_for_is_passed_over_in_silence(engine, home, phones):
    channel = Recorder()
    keep(engine, home, LOOK)
    work(engine, LOOK.tell_at, {"push": channel}, "w")
    with writing(engine) as db:
        withdraw(db, home, [LOOK.key], LOOK.tell_at)
    work(engine, LOOK.tell_at + HOUR, {"push": channel}, "w")
    assert len(titles(channel)) == 1


def test_whoever_puts_it_off_hears_of_it_again_then_and_nobody_else_does(engine, home, neighbours, phones):
    channel, owner = Recorder(), neighbours.owner.who.person_id
    keep(engine, home, CATCH)
    work(engine, DUE, {"push": channel}, "w")
    later = DUE + timedelta(minutes=30)
    keep(engine, home, replace(CATCH, put_off=((owner, later),)))
    work(engine, DUE + timedelta(minutes=10), {"push": channel}, "w")
    assert len(channel.sent) == 3
    for minutes in (30, 31):
        work(engine, DUE + timedelta(minutes=minutes), {"push": channel}, "w")
    assert [endpoint for endpoint, _ in channel.sent[3:]] == ["owner"]


def test_what_was_put_off_and_then_done_by_another_is_not_told_again(engine, home, neighbours, phones):
    channel, owner = Recorder(), neighbours.owner.who.person_id
    keep(engine, home, CATCH)
    work(engine, DUE, {"push": channel}, "w")
    off = replace(CATCH, put_off=((owner, DUE + HOUR),))
    keep(engine, home, off)
    work(engine, DUE + timedelta(minutes=1), {"push": channel}, "w")
    keep(engine, home, replace(off, done_at=DUE + timedelta(minutes=30)))
    work(engine, DUE + 2 * HOUR, {"push": channel}, "w")
    assert len(channel.sent) == 3


@pytest.mark.parametrize(("breaks", "at"), [(False, local(26, 7)), (True, LOOK.tell_at)])
def test_quiet_hours_are_kept_and_the_night_of_the_catch_breaks_them_by_ones_leave(
    engine, home, neighbours, phones, breaks, at
):
    wish = Wish(time(21), time(7), BERLIN, breaks, None)
    with writing(engine) as db:
        keep_wish(db, neighbours.owner.who, wish, DUE)
    channel, late = Recorder(), replace(CATCH, tell_at=LOOK.tell_at)
    keep(engine, home, late, LOOK)
    work(engine, LOOK.tell_at, {"push": channel}, "w")
    assert ("owner", LOOK.key) not in channel.sent
    assert (("owner", CATCH.key) in channel.sent) == breaks
    assert ("keeper", LOOK.key) in channel.sent
    work(engine, local(26, 7), {"push": channel}, "w")
    assert {("owner", CATCH.key), ("owner", LOOK.key)} <= set(channel.sent)
    (row,) = [one for one in deliveries(engine) if one.duty_key == CATCH.key and one.trouble == "quiet hours"] or [None]
    assert row is None


@pytest.mark.parametrize("breaks", [False, True])
def test_what_failed_before_quiet_hours_began_does_not_ring_in_them(engine, home, neighbours, phones, breaks):
    with writing(engine) as db:
        keep_wish(db, neighbours.owner.who, Wish(time(21), time(7), BERLIN, breaks, None), DUE)
    at = local(25, 20, 59) + timedelta(seconds=50)
    channel = Recorder(answers={"owner": [Outcome("later", "busy")]})
    keep(engine, home, replace(CATCH, tell_at=at))
    work(engine, at, {"push": channel}, "w")
    assert sorted(endpoint for endpoint, _ in channel.sent) == ["helper", "keeper"]
    work(engine, at + timedelta(minutes=2), {"push": channel}, "w")
    assert (("owner", CATCH.key) in channel.sent) == breaks
    work(engine, local(26, 7), {"push": channel}, "w")
    assert channel.sent.count(("owner", CATCH.key)) == 1


def test_what_has_lost_its_use_when_quiet_hours_end_is_dropped_and_says_why(engine, home, neighbours, phones):
    with writing(engine) as db:
        keep_wish(db, neighbours.owner.who, Wish(time(21), time(10), BERLIN, False, None), DUE)
    channel = Recorder()
    keep(engine, home, LOOK)
    work(engine, LOOK.tell_at, {"push": channel}, "w")
    work(engine, local(26, 10), {"push": channel}, "w")
    assert titles(channel) == []
    (row,) = [one for one in deliveries(engine) if one.person_id == neighbours.owner.who.person_id]
    assert (row.state, row.trouble) == ("dropped", "quiet hours")


def test_mail_goes_to_those_who_gave_an_address_and_to_nobody_else(engine, home, neighbours, phones):
    with writing(engine) as db:
        keep_wish(db, neighbours.keeper.who, Wish(None, None, BERLIN, False, "joris@reedmarsh.example"), DUE)
    push, mail = Recorder(), Recorder()
    keep(engine, home, CATCH)
    work(engine, DUE, {"push": push, "email": mail}, "w")
    assert len(push.sent) == 3
    assert mail.sent == [("joris@reedmarsh.example", CATCH.key)]
    assert {row.channel for row in deliveries(engine)} == {"push", "email"}
    assert {message.link_path for _, message in push.messages} == {""}
    ((_, letter),) = mail.messages
    with reading(engine) as db:
        linked = read_link(db, letter.link_path.removeprefix("/d/"), DUE)
    assert (linked.who.person_id, linked.kept.duty.key) == (neighbours.keeper.who.person_id, CATCH.key)


def say_away(engine, who, since, until, whom, **more):
    """Keep an absence as a phone sends it."""
    said = {"person": whom.person_id, "since": instant_text(since), "until": instant_text(until), **more}
    change = added(who, "absence", **said)
    (verdict,) = push(engine, who, [change]).verdicts
    assert verdict.verdict == "taken"
    return change


def test_who_is_away_is_not_told_unless_he_has_taken_it_or_nobody_is_at_home(engine, home, neighbours, phones):
    owner, keeper, helper = (getattr(neighbours, name).who for name in ("owner", "keeper", "helper"))
    say_away(engine, owner, DUE - HOUR, DUE + HOUR, owner)
    say_away(engine, owner, DUE - 48 * HOUR, DUE - 24 * HOUR, helper)
    say_away(engine, owner, DUE - HOUR, DUE + HOUR, keeper, gone=True)
    channel = Recorder()
    keep(engine, home, CATCH)
    work(engine, DUE, {"push": channel}, "w")
    assert sorted(endpoint for endpoint, _ in channel.sent) == ["helper", "keeper"]
    keep(engine, home, replace(LOOK, tell_at=DUE, taken_by=owner.person_id))
    work(engine, DUE, {"push": channel}, "w")
    assert channel.sent[2:] == [("owner", LOOK.key)]


def test_where_all_are_away_all_are_told(engine, home, neighbours, phones):
    people = [getattr(neighbours, name).who for name in ("owner", "keeper", "helper")]
    for who in people:
        say_away(engine, people[0], DUE - HOUR, DUE + HOUR, who)
    channel = Recorder()
    keep(engine, home, CATCH)
    work(engine, DUE, {"push": channel}, "w")
    assert len(channel.sent) == 3


def test_an_absence_that_is_corrected_or_taken_out_counts_as_it_stands(engine, home, neighbours, phones):
    owner = neighbours.owner.who
    change = say_away(engine, owner, DUE - HOUR, DUE + HOUR, owner)
    later = edited(change, stamp(1), stamp(), None, until=instant_text(DUE - timedelta(minutes=1)))
    push(engine, owner, [later])
    channel = Recorder()
    keep(engine, home, CATCH)
    work(engine, DUE, {"push": channel}, "w")
    assert len(channel.sent) == 3
