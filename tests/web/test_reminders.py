"""People say how they want to be reminded, and try whether it reaches them."""

from __future__ import annotations

from dataclasses import replace
from datetime import time
from zoneinfo import ZoneInfo

import pytest

from channels.push_endpoint import PushEndpoint
from holdwatch.app import create_app
from holdwatch.config import Mail
from holdwatch.domain.duties.quiet import Wish
from holdwatch.services import access
from holdwatch.services.duties.wishes import wishes_of
from holdwatch.store.database import reading, writing
from people import Visitors, visiting

PATH = "/api/v1/reminders"
NONE = {"quiet": None, "zone": "UTC", "catch_breaks_quiet": False, "email": None, "morning": None}
NIGHTS = {
    "quiet": {"from": "22:00", "until": "06:45"},
    "zone": "Europe/Copenhagen",
    "catch_breaks_quiet": True,
    "email": "joris@reedmarsh.example",
    "morning": "07:30",
}
MINE = Wish(time(22), time(6, 45), ZoneInfo("Europe/Copenhagen"), True, "joris@reedmarsh.example", time(7, 30))


@pytest.fixture
def settings(settings):
    """Settings under which a push service on this machine may be used."""
    return replace(settings, push_loopback=True)


def kept(engine, visitors: Visitors) -> dict[str, Wish]:
    with reading(engine) as db:
        return dict(wishes_of(db, visitors.owner.who.household_id))


def test_whoever_said_nothing_has_no_wishes(engine, visitors: Visitors):
    assert visitors.helper.get(PATH).json == NONE | {"sends_mail": False}
    assert kept(engine, visitors) == {}


def test_each_has_wishes_of_their_own_which_the_queue_reads(engine, visitors: Visitors):
    assert visitors.helper.ask("PUT", PATH, NIGHTS).json == NIGHTS | {"sends_mail": False}
    assert visitors.helper.get(PATH).json == NIGHTS | {"sends_mail": False}
    assert visitors.owner.get(PATH).json["quiet"] is None
    assert visitors.stranger.get(PATH).json["email"] is None
    assert kept(engine, visitors) == {visitors.helper.who.person_id: MINE}
    visitors.helper.ask("PUT", PATH, NIGHTS | {"email": None, "quiet": None})
    assert kept(engine, visitors) == {
        visitors.helper.who.person_id: replace(MINE, quiet_from=None, quiet_until=None, email=None)
    }


def test_a_client_that_knows_of_no_summary_does_not_end_it(engine, visitors: Visitors):
    visitors.helper.ask("PUT", PATH, NIGHTS)
    before = {name: value for name, value in NIGHTS.items() if name != "morning"}
    assert visitors.helper.ask("PUT", PATH, before).json["morning"] == "07:30"
    assert visitors.helper.ask("PUT", PATH, NIGHTS | {"morning": None}).json["morning"] is None


def test_nobody_who_left_is_asked_for_wishes(engine, visitors: Visitors, clock):
    visitors.helper.ask("PUT", PATH, NIGHTS)
    with writing(engine) as db:
        access.remove_person(db, visitors.owner.who, visitors.helper.who.person_id, clock.now())
    assert kept(engine, visitors) == {}


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"quiet": {"from": "22:00"}}, "quiet.until"),
        ({"quiet": {"from": "24:00", "until": "07:00"}}, "quiet.from"),
        ({"quiet": {"from": "22:00", "until": "7:00"}}, "quiet.until"),
        ({"quiet": {"from": "22:00", "until": "07:00\n"}}, "quiet.until"),
        ({"quiet": {"from": "٢٢:٠٠", "until": "07:00"}}, "quiet.from"),
        ({"quiet": {"from": "07:00", "until": "07:00"}}, "quiet._schema"),
        ({"zone": "Mars/Olympus"}, "zone"),
        ({"zone": "localtime"}, "zone"),
        ({"zone": None}, "zone"),
        ({"zone": "../../etc/passwd"}, "zone"),
        ({"morning": "7:30"}, "morning"),
        ({"morning": "25:00"}, "morning"),
        ({"morning": 7}, "morning"),
        ({"email": ""}, "email"),
        ({"email": "joris"}, "email"),
        ({"email": "joris@reedmarsh.example\r\nBcc: eve@quarry.example"}, "email"),
        ({"catch_breaks_quiet": None}, "catch_breaks_quiet"),
        ({"more": 1}, "more"),
    ],
)
def test_what_cannot_be_used_is_refused_by_name_and_changes_nothing(engine, visitors: Visitors, change, where):
    answer = visitors.helper.ask("PUT", PATH, NIGHTS | change)
    assert answer.status_code == 422
    assert list(answer.json["error"]["where"]) == [where]
    assert kept(engine, visitors) == {}


def test_it_says_where_the_server_sends_mail(settings, engine, clock, neighbours):
    mail = Mail("mail.example", 465, "tls", "watch@post.example")
    sending = visiting(create_app(replace(settings, mail=mail), engine, clock.now), neighbours)
    assert sending.owner.get(PATH).json["sends_mail"] is True


def test_a_trial_reaches_this_phone_alone(visitors: Visitors, clock):
    with PushEndpoint(at=clock.now()) as endpoint:
        for name in ("owner", "helper"):
            subscription = endpoint.phone(name).subscription()
            assert getattr(visitors, name).post("/api/v1/push/subscriptions", subscription).status_code == 201
        assert visitors.helper.post(f"{PATH}/test").json == {"result": "sent"}
        (got,) = endpoint.delivered("helper")
        assert endpoint.delivered("owner") == endpoint.faults == []
    assert got.message["notification"]["title"] == "Reminders reach this device"
    assert got.message["notification"]["navigate"].endswith("/household")


def test_a_trial_says_what_became_of_it(visitors: Visitors):
    assert visitors.helper.post(f"{PATH}/test").status_code == 409
    with PushEndpoint() as endpoint:
        visitors.helper.post("/api/v1/push/subscriptions", endpoint.phone("helper").subscription())
    # The push service is not there any more.
    assert visitors.helper.post(f"{PATH}/test").json == {"result": "later"}
