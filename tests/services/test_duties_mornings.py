"""The summary of a morning: for whom, when, once, and what it says."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta
from zoneinfo import ZoneInfo

import sqlalchemy as sa

from domain.hold import BROOD, HOUR, local
from holdwatch.channels.message import Outcome
from holdwatch.domain.duties import Duty
from holdwatch.services import access
from holdwatch.services.access import Who
from holdwatch.services.duties import new_feed, read_feed, work
from holdwatch.services.duties.wishes import Wish, keep_wish
from holdwatch.store import tables
from holdwatch.store.database import reading, writing
from services.reminding import Recorder, deliveries, keep
from services.test_duties_rota import say_away

NIGHT = date(2026, 11, 25)
BERLIN = ZoneInfo("Europe/Berlin")
LOOK = Duty(f"look:{BROOD}:2026-11-25", "look_tonight", BROOD, NIGHT, local(25, 22), local(25, 22), local(26, 9))
CATCH = Duty(f"catch:{BROOD}", "catch_tonight", BROOD, NIGHT, local(25, 22, 30), local(25, 18, 30), local(26, 9))
MORNING = local(25, 7, 30)
WISH = Wish(None, None, BERLIN, False, None, time(7, 30))


def want(engine, who: Who, wish: Wish = WISH, now=MORNING - 8 * HOUR) -> None:
    with writing(engine) as db:
        keep_wish(db, who, wish, now)


def told(channel: Recorder, name: str) -> list[tuple[str, str]]:
    return [(message.title, message.body) for endpoint, message in channel.messages if endpoint == name]


def test_who_wants_one_gets_one_in_the_morning_with_what_is_theirs_and_everybodys(engine, home, neighbours, phones):
    helper = neighbours.helper.who
    want(engine, helper)
    keep(engine, home, replace(LOOK, taken_by=helper.person_id), CATCH)
    channel = Recorder()
    for minutes in range(-3, 4):
        work(engine, MORNING + timedelta(minutes=minutes), {"push": channel}, "w")
    assert told(channel, "helper") == [
        ("Today: 2 things to do", "22:00  Look at him tonight (yours)\n22:30  Catch him tonight")
    ]
    assert told(channel, "owner") == told(channel, "keeper") == []
    ((_, message),) = channel.messages
    assert (message.path, message.has_buttons, message.urgent) == ("/", False, False)


def test_what_another_has_taken_is_not_in_it_and_where_nothing_is_asked_nothing_is_told(
    engine, home, neighbours, phones
):
    want(engine, neighbours.helper.who)
    keep(engine, home, replace(CATCH, taken_by=neighbours.owner.who.person_id))
    channel = Recorder()
    work(engine, MORNING, {"push": channel}, "w")
    assert channel.messages == []
    with reading(engine) as db:
        (following,) = db.scalars(sa.select(tables.reminder_wish.c.next_morning_at))
    assert following == (MORNING + 24 * HOUR).timestamp() * 1000


def test_it_says_how_things_stand_when_it_goes_out(engine, home, neighbours, phones):
    want(engine, neighbours.helper.who)
    keep(engine, home, LOOK, CATCH)
    channel = Recorder(answers={"helper": [Outcome("later", "busy")]})
    work(engine, MORNING, {"push": channel}, "w")
    keep(engine, home, replace(LOOK, done_at=MORNING))
    work(engine, MORNING + HOUR, {"push": channel}, "w")
    assert told(channel, "helper") == [("Today: one thing to do", "22:30  Catch him tonight")]


def test_after_a_restart_it_comes_late_if_it_is_still_of_use_and_only_once_for_the_days_that_were_missed(
    engine, home, neighbours, phones
):
    want(engine, neighbours.helper.who, now=MORNING - 80 * HOUR)
    want(engine, neighbours.keeper.who, now=MORNING - 80 * HOUR)
    with writing(engine) as db:
        db.execute(
            sa.update(tables.reminder_wish).values(next_morning_at=int((MORNING - 72 * HOUR).timestamp() * 1000))
        )
    keep(engine, home, LOOK)
    channel = Recorder()
    work(engine, MORNING - HOUR, {"push": channel}, "w")
    assert channel.messages == []
    work(engine, MORNING + 11 * HOUR, {"push": channel}, "w")
    assert len(told(channel, "helper")) == len(told(channel, "keeper")) == 1


def test_quiet_hours_hold_it_back_and_who_left_gets_none(engine, home, neighbours, phones):
    want(engine, neighbours.helper.who, replace(WISH, quiet_from=time(22), quiet_until=time(9)))
    want(engine, neighbours.keeper.who)
    with writing(engine) as db:
        access.remove_person(db, neighbours.owner.who, neighbours.keeper.who.person_id, MORNING - HOUR)
    keep(engine, home, LOOK)
    channel = Recorder()
    work(engine, MORNING, {"push": channel}, "w")
    assert channel.messages == []
    work(engine, local(25, 9), {"push": channel}, "w")
    assert [endpoint for endpoint, _ in channel.messages] == ["helper"]


def test_it_goes_by_mail_too_without_a_link_that_acts_and_is_in_no_calendar(engine, home, neighbours, phones):
    helper = neighbours.helper.who
    want(engine, helper, replace(WISH, email="joris@reedmarsh.example"))
    keep(engine, home, LOOK)
    mail = Recorder()
    work(engine, MORNING, {"email": mail}, "w")
    ((to, message),) = mail.messages
    assert (to, message.link_path, message.path) == ("joris@reedmarsh.example", "", "/")
    with writing(engine) as db:
        feed = new_feed(db, helper, False, MORNING)
    with reading(engine) as db:
        entries = read_feed(db, str(feed), MORNING)
    assert entries is not None and [entry.duty.key for entry in entries] == [LOOK.key]


def test_the_row_of_one_morning_goes_with_the_next(engine, home, neighbours, phones):
    want(engine, neighbours.helper.who)
    keep(engine, home, LOOK, replace(LOOK, key=f"{LOOK.key}b", due_at=local(26, 22), until_at=local(27, 9)))
    channel = Recorder()
    for days in (0, 1):
        work(engine, MORNING + days * 24 * HOUR, {"push": channel}, "w")
    assert len([title for title, _ in told(channel, "helper") if title.startswith("Today")]) == 2
    of_mornings = [row.duty_key for row in deliveries(engine) if row.duty_key.startswith("morning:")]
    assert of_mornings == [f"morning:{neighbours.helper.who.person_id}:2026-11-26"]


def test_who_is_away_has_no_summary(engine, home, neighbours, phones):
    want(engine, neighbours.helper.who)
    say_away(engine, neighbours, "helper", MORNING)
    keep(engine, home, LOOK)
    channel = Recorder()
    work(engine, MORNING, {"push": channel}, "w")
    assert channel.messages == []


def test_another_wish_that_is_said_in_that_very_minute_does_not_put_it_off(engine, home, neighbours, phones):
    want(engine, neighbours.helper.who)
    keep(engine, home, LOOK)
    want(engine, neighbours.helper.who, replace(WISH, catch_breaks_quiet=True), MORNING + timedelta(seconds=2))
    channel = Recorder()
    work(engine, MORNING + timedelta(seconds=20), {"push": channel}, "w")
    assert len(told(channel, "helper")) == 1
