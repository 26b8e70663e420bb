"""Who hears of a duty, once, and what becomes of messages that do not get through."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from channels.push_endpoint import PushEndpoint
from channels.test_push import KEY
from domain.hold import BROOD, HOUR, local
from holdwatch.channels.endpoints import EndpointRules
from holdwatch.channels.message import Outcome
from holdwatch.channels.push import PushChannel
from holdwatch.domain.duties import Duty
from holdwatch.services import access
from holdwatch.services.duties import WorkDone, work, working
from holdwatch.services.duties.kept import withdraw
from holdwatch.store.database import writing
from services.reminding import Recorder, deliveries, keep, states, subscribe, subscriptions

DUE = local(25, 18, 30)
CATCH = Duty(f"catch:{BROOD}", "catch_tonight", BROOD, date(2026, 11, 25), local(25, 22, 30), DUE, local(26, 9))
LOOSE = Duty(f"loose:{BROOD}:2026-11-25", "fry_loose", BROOD, date(2026, 11, 25), DUE, DUE, DUE + 12 * HOUR)
LATER = Outcome("later", "the push service answered 503")


def another_phone(engine) -> access.Opened:
    """A second phone of the owner."""
    with writing(engine) as db:
        knocked = access.knock(db, "ilka@reedmarsh.example", "127.0.0.1", DUE)
        return access.sign_in(db, knocked, access.Phone(None, "another"), DUE)


def test_a_duty_is_sent_once_to_everybody_of_the_household_and_to_nobody_else(engine, home, phones):
    keep(engine, home, CATCH)
    channel = Recorder()
    assert work(engine, DUE - timedelta(seconds=1), {"push": channel}, "w") == WorkDone()
    assert work(engine, DUE, {"push": channel}, "w") == WorkDone(queued=1, sent=3)
    for hours in range(4):
        assert not work(engine, DUE + hours * HOUR, {"push": channel}, "w")
    assert sorted(channel.sent) == [(name, CATCH.key) for name in ("helper", "keeper", "owner")]


def test_a_real_push_service_gets_what_it_can_verify_and_decrypt(engine, home, neighbours):
    channel = PushChannel(KEY, "mailto:operator@example.org", "https://watch.example.org", EndpointRules(loopback=True))
    with PushEndpoint(at=DUE) as endpoint:
        subscribe(engine, neighbours.helper, endpoint.phone("joris"), DUE)
        keep(engine, home, CATCH)
        done = work(engine, DUE, {"push": channel}, "w")
        assert done == WorkDone(queued=1, sent=1, no_way=2)
        (got,) = endpoint.wait_for(1)
    assert endpoint.faults == []
    assert got.message["notification"]["title"] == "Catch him tonight, 22:30"
    assert got.message["notification"]["navigate"] == f"https://watch.example.org/brood/{BROOD}?duty={CATCH.key}"
    assert 0 <= (CATCH.until_at - DUE).total_seconds() - int(got.headers["ttl"]) < 60


def test_a_duty_somebody_took_is_his_alone_and_loose_fry_are_everybodys(engine, home, neighbours, phones):
    taker = neighbours.helper.who.person_id
    keep(engine, home, replace(CATCH, taken_by=taker), replace(LOOSE, taken_by=taker))
    channel = Recorder()
    work(engine, DUE, {"push": channel}, "w")
    assert sorted(channel.sent) == [
        ("helper", CATCH.key),
        ("helper", LOOSE.key),
        ("keeper", LOOSE.key),
        ("owner", LOOSE.key),
    ]


def test_a_duty_handed_back_goes_to_those_who_have_not_heard_of_it(engine, home, neighbours, phones):
    keep(engine, home, replace(CATCH, taken_by=neighbours.helper.who.person_id))
    channel = Recorder()
    work(engine, DUE, {"push": channel}, "w")
    keep(engine, home, CATCH)
    work(engine, DUE + HOUR, {"push": channel}, "w")
    assert [endpoint for endpoint, _ in channel.sent[:1]] == ["helper"]
    assert sorted(endpoint for endpoint, _ in channel.sent) == ["helper", "keeper", "owner"]


def test_a_duty_taken_between_queueing_and_sending_is_not_sent_to_the_others(engine, home, neighbours, phones):
    keep(engine, home, CATCH)
    channel = Recorder(answers={"owner": [LATER], "keeper": [LATER], "helper": [LATER]})
    work(engine, DUE, {"push": channel}, "w")
    keep(engine, home, replace(CATCH, taken_by=neighbours.keeper.who.person_id))
    work(engine, DUE + HOUR, {"push": channel}, "w")
    assert channel.sent == [("keeper", CATCH.key)]
    assert states(engine) == ["dropped", "dropped", "sent"]
    # Handed back, it is everybody's again.
    keep(engine, home, CATCH)
    work(engine, DUE + 2 * HOUR, {"push": channel}, "w")
    assert sorted(endpoint for endpoint, _ in channel.sent) == ["helper", "keeper", "owner"]


def test_what_a_removed_person_had_taken_is_everybodys(engine, home, neighbours, phones):
    helper = neighbours.helper.who
    keep(engine, home, replace(CATCH, taken_by=helper.person_id))
    with writing(engine) as db:
        access.remove_person(db, neighbours.owner.who, helper.person_id, DUE - HOUR)
    channel = Recorder()
    work(engine, DUE, {"push": channel}, "w")
    assert sorted(endpoint for endpoint, _ in channel.sent) == ["keeper", "owner"]


@pytest.mark.parametrize("what", ["done", "withdrawn", "over"])
def test_what_is_done_withdrawn_or_over_is_not_sent_and_leaves_a_trace(engine, home, phones, what):
    keep(engine, home, CATCH)
    channel = Recorder(answers={name: [LATER] for name in ("owner", "keeper", "helper")})
    work(engine, DUE, {"push": channel}, "w")
    now = DUE + HOUR
    if what == "done":
        keep(engine, home, replace(CATCH, done_at=now))
    elif what == "withdrawn":
        with writing(engine) as db:
            withdraw(db, home, [CATCH.key], now)
    else:
        now = CATCH.until_at
    assert work(engine, now, {"push": channel}, "w") == WorkDone(dropped=3)
    assert channel.sent == []
    assert {(row.state, row.trouble) for row in deliveries(engine)} == {("dropped", LATER.detail)}


@pytest.mark.parametrize("changes", [{"done_at": DUE}, {"until_at": DUE}])
def test_what_is_done_or_over_before_its_time_is_not_even_queued(engine, home, phones, changes):
    keep(engine, home, replace(CATCH, **changes))
    assert work(engine, DUE, {"push": Recorder()}, "w") == WorkDone()
    assert deliveries(engine) == []


def test_a_message_late_by_a_restart_is_sent_while_it_is_of_use(engine, home, phones):
    keep(engine, home, CATCH)
    channel = Recorder()
    work(engine, CATCH.until_at - timedelta(minutes=1), {"push": channel}, "w")
    assert len(channel.sent) == 3


def test_a_moved_duty_is_sent_again_as_a_version_of_its_own(engine, home, phones):
    moved = replace(
        CATCH, night=date(2026, 11, 26), due_at=local(26, 22, 30), tell_at=DUE + 24 * HOUR, until_at=local(27, 9)
    )
    keep(engine, home, CATCH)
    channel = Recorder(answers={"owner": [LATER]})
    work(engine, DUE, {"push": channel}, "w")
    keep(engine, home, moved)
    work(engine, DUE + HOUR, {"push": channel}, "w")
    # Those who were told of it hear at once that it has moved.
    assert len(channel.sent) == 4
    assert states(engine) == ["dropped", "sent", "sent", "sent", "sent"]
    work(engine, moved.tell_at, {"push": channel}, "w")
    assert len(channel.sent) == 7
    rows = {(row.version, row.matter, row.state) for row in deliveries(engine)}
    assert rows == {(1, "due", "dropped"), (1, "due", "sent"), (2, "moved", "sent"), (2, "due", "sent")}


def test_a_person_without_a_phone_is_seen_to_have_none_and_hears_when_he_has_one(engine, home, neighbours):
    keep(engine, home, CATCH)
    channel = Recorder()
    assert work(engine, DUE, {"push": channel}, "w") == WorkDone(queued=1, no_way=3)
    assert states(engine) == ["no_way"] * 3
    assert {row.trouble for row in deliveries(engine)} == {"no phone of this person gets reminders"}
    assert not work(engine, DUE + HOUR, {"push": channel}, "w")
    subscribe(engine, neighbours.keeper, "keeper", DUE + HOUR)
    assert work(engine, DUE + HOUR, {"push": channel}, "w") == WorkDone(sent=1)
    assert channel.sent == [("keeper", CATCH.key)]


def test_a_phone_that_is_gone_is_forgotten(engine, home, phones):
    keep(engine, home, CATCH)
    work(engine, DUE, {"push": Recorder(answers={"owner": [Outcome("gone", "410")]})}, "w")
    assert sorted(subscriptions(engine)) == ["helper", "keeper", "stranger"]
    assert states(engine) == ["no_way", "sent", "sent"]


def test_a_refusal_keeps_the_phone_and_is_told_to_whoever_runs_the_server(engine, home, phones, caplog):
    keep(engine, home, CATCH)
    channel = Recorder(answers={"owner": [Outcome("refused", "the push service answered 403")]})
    work(engine, DUE, {"push": channel}, "w")
    assert subscriptions(engine)["owner"] == "the push service answered 403"
    assert [r.levelname for r in caplog.records if "403" in r.message] == ["ERROR"]
    assert not work(engine, DUE + HOUR / 2, {"push": channel}, "w")
    assert work(engine, DUE + 2 * HOUR, {"push": channel}, "w") == WorkDone(sent=1)
    assert subscriptions(engine)["owner"] is None


def test_trouble_is_tried_again_after_longer_and_longer_waits(engine, home, neighbours):
    subscribe(engine, neighbours.owner, "owner", DUE)
    keep(engine, home, replace(CATCH, taken_by=neighbours.owner.who.person_id))
    channel = Recorder(answers={"owner": [LATER] * 7})
    now, waits = DUE, []
    work(engine, now, {"push": channel}, "w")
    while not channel.sent:
        (row,) = deliveries(engine)
        waits.append(round(row.next_at / 1000 - now.timestamp()))
        now += timedelta(seconds=waits[-1] + 1)
        work(engine, now, {"push": channel}, "w")
    asked = [30, 60, 120, 240, 480, 900, 900]
    # A round goes by a stopwatch, and a busy machine takes its time.
    assert [0 <= wait - wanted < 30 for wait, wanted in zip(waits, asked, strict=True)] == [True] * 7, waits


def test_a_push_service_that_names_a_time_is_not_asked_before(engine, home, neighbours):
    subscribe(engine, neighbours.owner, "owner", DUE)
    keep(engine, home, replace(CATCH, taken_by=neighbours.owner.who.person_id))
    channel = Recorder(answers={"owner": [Outcome("later", "429", 1800)]})
    work(engine, DUE, {"push": channel}, "w")
    assert not work(engine, DUE + timedelta(minutes=29), {"push": channel}, "w")
    assert work(engine, DUE + timedelta(minutes=31), {"push": channel}, "w") == WorkDone(sent=1)


def test_of_two_phones_only_the_one_that_did_not_get_it_is_tried_again(engine, home, neighbours):
    owner = neighbours.owner
    subscribe(engine, owner, "owner", DUE)
    subscribe(engine, another_phone(engine), "tablet", DUE)
    keep(engine, home, replace(CATCH, taken_by=owner.who.person_id))
    channel = Recorder(answers={"tablet": [LATER]})
    assert work(engine, DUE, {"push": channel}, "w") == WorkDone(queued=1, put_off=1)
    assert work(engine, DUE + HOUR, {"push": channel}, "w") == WorkDone(sent=1)
    assert channel.sent == [("owner", CATCH.key), ("tablet", CATCH.key)]


def test_one_phone_never_reached_does_not_unsend_the_other(engine, home, neighbours):
    owner = neighbours.owner
    subscribe(engine, owner, "owner", DUE)
    subscribe(engine, another_phone(engine), "tablet", DUE)
    keep(engine, home, replace(CATCH, taken_by=owner.who.person_id))
    work(engine, DUE, {"push": Recorder(answers={"tablet": [LATER]})}, "w")
    work(engine, CATCH.until_at, {"push": Recorder()}, "w")
    assert [(row.state, row.trouble) for row in deliveries(engine)] == [("sent", LATER.detail)]


def test_a_phone_that_signed_out_is_silent(engine, home, neighbours, phones):
    with writing(engine) as db:
        access.close_session(db, home, neighbours.keeper.who.session_id, DUE)
    keep(engine, home, CATCH)
    channel = Recorder()
    work(engine, DUE, {"push": channel}, "w")
    assert sorted(endpoint for endpoint, _ in channel.sent) == ["helper", "owner"]


@pytest.mark.parametrize("seconds", [7200.0, 999_999_999.0, 251_700_000_000.0])
def test_however_long_a_push_service_asks_for_it_is_tried_again_within_the_hour(engine, home, phones, seconds):
    asks = Outcome("later", "the push service answered 503", seconds)
    channel = Recorder(answers={"helper": [asks]})
    keep(engine, home, CATCH)
    work(engine, DUE, {"push": channel}, "w")
    assert sorted(name for name, _ in channel.sent) == ["keeper", "owner"]
    work(engine, DUE + HOUR + timedelta(seconds=5), {"push": channel}, "w")
    assert sorted(name for name, _ in channel.sent) == ["helper", "keeper", "owner"]


def test_one_persons_many_slow_phones_do_not_outlast_the_lease_of_others(engine, home, neighbours, monkeypatch):
    monkeypatch.setattr(working, "LONGEST_FOR_ONE_SECONDS", -1.0)
    subscribe(engine, neighbours.helper, "helper", DUE)
    channel = Recorder()
    keep(engine, home, CATCH)
    done = work(engine, DUE, {"push": channel}, "w")
    assert (done.put_off, channel.sent) == (1, [])
