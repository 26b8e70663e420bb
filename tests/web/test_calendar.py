"""The calendar's address over HTTP: given, renewed, ended; and what whoever has it, or a wrong one, is answered."""

from __future__ import annotations

import logging
from datetime import date, timedelta

import pytest
import sqlalchemy as sa
from flask import Flask

import rfc5545
from holdwatch.domain.duties import Duty
from holdwatch.services import access, duties
from holdwatch.services.duties.kept import Kept, write_kept
from holdwatch.store.database import reading, writing
from holdwatch.store.tables import metadata
from people import Clock, Visitor, Visitors

OWN = "/api/v1/calendar"
ABSENT = "018f6d2a-7c3e-7000-8000-0123456789ab"


def give(visitor: Visitor, names: bool = False) -> str:
    """The path of a new calendar."""
    answer = visitor.post(OWN, {"names": names})
    assert answer.status_code == 201, answer.text
    return answer.json["path"]


@pytest.fixture
def due(engine: sa.Engine, visitors: Visitors, clock: Clock) -> Duty:
    """A duty of the first household."""
    at = clock.now() + timedelta(hours=2)
    one = Duty("catch:b1", "catch_tonight", "b1", date(2026, 11, 25), at, at, at + timedelta(hours=9))
    with writing(engine) as db:
        write_kept(db, visitors.owner.who.household_id, [Kept(one, 1, "Europe/Copenhagen")])
    return one


def test_everybody_gets_an_own_address_once_and_may_renew_and_end_it(visitors: Visitors, clock: Clock):
    assert visitors.helper.get(OWN).json == {"since": None, "names": False}
    first = give(visitors.helper, names=True)
    assert visitors.helper.get(OWN).json == {"since": "2026-11-25T20:10:00+00:00", "names": True}
    assert visitors.owner.get(OWN).json["since"] is None
    clock.move(hours=1)
    second = give(visitors.helper)
    assert visitors.helper.get(OWN).json == {"since": "2026-11-25T21:10:00+00:00", "names": False}
    assert [visitors.signed_out.get(path).status_code for path in (first, second)] == [404, 200]
    assert visitors.helper.delete(OWN).status_code == 204
    assert visitors.signed_out.get(second).status_code == 404
    assert visitors.helper.get(OWN).json["since"] is None


@pytest.mark.parametrize("body", [{}, {"names": None}, {"names": "perhaps"}, {"names": True, "more": 1}, []])
def test_a_wish_that_is_none_is_refused_and_gives_nothing(visitors: Visitors, body):
    assert visitors.owner.post(OWN, body).status_code == 422
    assert visitors.owner.get(OWN).json["since"] is None


def test_whoever_has_the_address_reads_it_without_signing_in(visitors: Visitors, due: Duty):
    answer = visitors.signed_out.get(give(visitors.helper), headers={"Sec-Fetch-Site": "none"})
    calendar = rfc5545.read(answer.data)
    (event,) = calendar.named("VEVENT")
    assert rfc5545.instant(calendar, event, "DTSTART") == due.due_at
    # RFC 5545, section 8.1: the media type.
    assert answer.headers["Content-Type"] == "text/calendar; charset=utf-8"


def test_no_cache_and_no_other_site_learns_the_address(visitors: Visitors, due: Duty):
    path = give(visitors.owner)
    for asked in (path, path[:-10] + "AAAAAA.ics"):
        headers = visitors.signed_out.get(asked).headers
        assert headers["Cache-Control"] == "private, no-store"
        assert headers["Referrer-Policy"] == "no-referrer"
        assert "Set-Cookie" not in headers and "ETag" not in headers


def test_a_wrong_secret_is_answered_like_a_calendar_that_never_was(visitors: Visitors, engine, clock: Clock, due: Duty):
    path, his = give(visitors.owner), give(visitors.keeper)
    secret = path.rpartition(".ics")[0].rpartition(".")[2]
    who = visitors.helper.who
    with writing(engine) as db:
        access.remove_person(db, visitors.owner.who, visitors.keeper.who.person_id, clock.now())
    wrong = path.replace(secret, "A" * 43)
    absent = [
        f"{OWN}/{who.household_id}.{who.person_id}.{secret}.ics", f"{OWN}/{ABSENT}.{ABSENT}.{secret}.ics",
        f"{OWN}/x.ics", his, f"{OWN}/{'A' * 4000}.ics",
    ]  # fmt: skip
    answers = [visitors.signed_out.get(one) for one in (wrong, *absent)]
    assert {(one.status_code, one.data, tuple(one.headers)) for one in answers} == {
        (404, answers[0].data, tuple(answers[0].headers))
    }
    assert visitors.signed_out.get(path).status_code == 200


def test_nothing_is_changed_by_fetching_whatever_the_secret(visitors: Visitors, engine, due: Duty):
    path = give(visitors.owner)
    before = everything(engine)
    for one in (path, path.replace(".ics", "A.ics")):
        visitors.signed_out.get(one)
        visitors.signed_out.ask("HEAD", one)
        visitors.owner.get(one)
    assert everything(engine) == before


def everything(engine: sa.Engine) -> list[str]:
    with reading(engine) as db:
        return [f"{table.name} {row}" for table in metadata.sorted_tables for row in db.execute(sa.select(table))]


def test_another_method_or_another_site_changes_nothing(visitors: Visitors):
    path = give(visitors.owner)
    assert visitors.owner.delete(path).status_code == visitors.owner.post(path, {}).status_code == 405
    for ask in (visitors.owner.delete, visitors.owner.post):
        assert ask(OWN, headers={"Sec-Fetch-Site": "cross-site"}).status_code == 403
    assert visitors.owner.get(path).status_code == 200


def test_the_address_is_in_no_log_when_the_server_fails(
    app: Flask, visitors: Visitors, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
):
    path = give(visitors.owner)
    app.testing = False

    def break_down(*_given: object) -> None:
        raise RuntimeError("a fault of ours")

    monkeypatch.setattr(duties, "read_feed", break_down)
    answer = visitors.signed_out.get(path)
    assert (answer.status_code, answer.json["error"]["code"]) == (500, "our_fault")
    assert "Exception on /api/v1/calendar/… [GET]" in caplog.text and "a fault of ours" in caplog.text
    secret = path.removeprefix(f"{OWN}/").removesuffix(".ics")
    assert [part for part in secret.split(".") if part in caplog.text] == []


def test_the_web_server_below_writes_no_address_either(app: Flask, caplog: pytest.LogCaptureFixture):
    # As waitress says it of an application that fell over, and as a line with arguments would be written.
    log = logging.getLogger("waitress")
    log.error("Exception while serving %s" % f"{OWN}/a.b.c.ics")  # noqa: UP031
    log.error("asked for %s?x, %d times", f"{OWN}/a.b.c.ics", 2)
    log.error("Exception while serving %s", "/api/v1/me")
    assert [record.getMessage() for record in caplog.records] == [
        "Exception while serving /api/v1/calendar/…",
        "asked for /api/v1/calendar/…?x, 2 times",
        "Exception while serving /api/v1/me",
    ]
