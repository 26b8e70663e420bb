"""Several people of one household on one phone: each with a cookie of his own, and a header that says who asks."""

from __future__ import annotations

from http.cookies import SimpleCookie

import pytest
import sqlalchemy as sa
from flask import Flask
from werkzeug.test import TestResponse

from holdwatch.app import create_app
from holdwatch.config import Settings
from holdwatch.services import access
from holdwatch.store.database import reading, writing
from holdwatch.store.tables import device_session
from people import PASSWORD, Clock, Neighbours, Visitor, at_the_door, invite_in

LOGINS = {"owner": "ilka@reedmarsh.example", "keeper": "tamsin", "helper": "joris", "stranger": "bram@quarry.example"}
STAMP = "1764101400000.0000.ab12cd34"


@pytest.fixture
def phone(app: Flask) -> Visitor:
    """A phone on which nobody is signed in yet."""
    return at_the_door(app, None)


def named(person: str | None) -> dict[str, dict[str, str]]:
    return {} if person is None else {"headers": {"Holdwatch-Person": person}}


def come_in(phone: Visitor, who: str, beside: str | None = None) -> TestResponse:
    """Sign somebody in, beside a person who is named or, as an older client does, beside nobody."""
    return phone.post("/api/v1/sign-in", {"login": LOGINS[who], "password": PASSWORD}, **named(beside))


def me(phone: Visitor, person: str | None = None) -> str | None:
    """The name of who asks; None where nobody is signed in as that person."""
    answer = phone.get("/api/v1/me", **named(person))
    assert answer.status_code in (200, 401)
    return answer.json["person"]["name"] if answer.status_code == 200 else None


def id_of(neighbours: Neighbours, who: str) -> str:
    return getattr(neighbours, who).who.person_id


@pytest.fixture
def shared(phone: Visitor, neighbours: Neighbours, clock: Clock) -> Visitor:
    """A phone on which the owner has signed in, and then the helper beside her."""
    come_in(phone, "owner")
    clock.move(seconds=1)
    assert come_in(phone, "helper", beside=id_of(neighbours, "owner")).status_code == 200
    return phone


def living(engine: sa.Engine, person: str) -> int:
    """How many sessions of that person are open."""
    mine = (device_session.c.person_id == person, device_session.c.revoked_at.is_(None))
    with reading(engine) as db:
        return db.execute(sa.select(sa.func.count()).where(*mine)).scalar_one()


def set_cookies(answer: TestResponse) -> SimpleCookie:
    return SimpleCookie("\r\n".join(answer.headers.getlist("Set-Cookie")))


def test_each_asks_under_his_own_name_and_role(shared: Visitor, neighbours: Neighbours):
    owner, helper = id_of(neighbours, "owner"), id_of(neighbours, "helper")
    assert (me(shared, owner), me(shared, helper)) == ("Ilka", "Joris")
    invitation = {"name": "Wim", "role": "keeper"}
    assert shared.post("/api/v1/invitations", invitation, **named(helper)).status_code == 403
    assert shared.post("/api/v1/invitations", invitation, **named(owner)).status_code == 201


def test_without_a_name_it_is_the_one_who_signed_in_last(phone: Visitor, neighbours: Neighbours, clock):
    come_in(phone, "owner")
    clock.move(seconds=1)
    come_in(phone, "helper", beside=id_of(neighbours, "owner"))
    assert me(phone) == "Joris"
    clock.move(seconds=1)
    come_in(phone, "owner", beside=id_of(neighbours, "helper"))
    assert me(phone) == "Ilka"


def test_each_writes_his_own_records_and_nobody_elses(shared: Visitor, neighbours: Neighbours):
    owner, helper = id_of(neighbours, "owner"), id_of(neighbours, "helper")

    def push(author: str, asks: str, last: str) -> str:
        tank = {"name": {"value": "Reef", "stamp": STAMP, "was": None}}
        mark = {"what": {"value": "courtship", "stamp": STAMP, "was": None}}
        kind, fields = ("tank", tank) if author == owner else ("mark", mark)
        change = {"id": f"018f6d2a-7c3e-7000-8000-00000000000{last}", "kind": kind, "author": author}
        change |= {"device": "ab12cd34", "fields": fields}
        body = {"schema": 2, "device": "ab12cd34", "cursor": 0, "epoch": None, "changes": [change]}
        return shared.post("/api/v1/sync", body, **named(asks)).json["verdicts"][0]["verdict"]

    assert [push(owner, owner, "1"), push(helper, helper, "2")] == ["taken", "taken"]
    assert [push(owner, helper, "3"), push(helper, owner, "4")] == ["refused", "refused"]


def test_an_older_client_that_signs_in_takes_the_phone_over(shared: Visitor, neighbours: Neighbours, engine):
    before = [living(engine, id_of(neighbours, who)) for who in ("owner", "helper", "keeper")]
    assert come_in(shared, "keeper").status_code == 200
    assert me(shared) == "Tamsin"
    assert [me(shared, id_of(neighbours, who)) for who in ("owner", "helper")] == [None, None]
    after = [living(engine, id_of(neighbours, who)) for who in ("owner", "helper", "keeper")]
    assert after == [before[0] - 1, before[1] - 1, before[2] + 1]


def test_whoever_signs_out_takes_only_his_own_session(shared: Visitor, neighbours: Neighbours):
    owner, helper = id_of(neighbours, "owner"), id_of(neighbours, "helper")
    assert shared.post("/api/v1/sign-out", **named(owner)).status_code == 204
    assert (me(shared, owner), me(shared, helper), me(shared)) == (None, "Joris", "Joris")
    assert shared.post("/api/v1/sign-out", **named(owner)).status_code == 401
    assert come_in(shared, "owner", beside=helper).status_code == 200
    assert (me(shared, owner), me(shared, helper)) == ("Ilka", "Joris")


def test_whoever_signs_in_again_leaves_no_older_session_of_his(shared: Visitor, neighbours: Neighbours, engine):
    owner, helper = id_of(neighbours, "owner"), id_of(neighbours, "helper")
    before = living(engine, helper)
    assert come_in(shared, "helper", beside=owner).status_code == 200
    assert living(engine, helper) == before
    assert (me(shared, owner), me(shared, helper)) == ("Ilka", "Joris")


def test_a_removed_person_loses_his_own_session_and_the_others_stay(shared: Visitor, neighbours: Neighbours):
    owner, helper = id_of(neighbours, "owner"), id_of(neighbours, "helper")
    assert shared.delete(f"/api/v1/people/{helper}", **named(owner)).status_code == 204
    assert (me(shared, owner), me(shared, helper), me(shared)) == ("Ilka", None, "Ilka")


def test_nobody_of_another_household_comes_in_beside_people(shared: Visitor, neighbours: Neighbours, engine):
    owner, before = id_of(neighbours, "owner"), living(engine, id_of(neighbours, "stranger"))
    answer = come_in(shared, "stranger", beside=owner)
    assert (answer.status_code, answer.json["error"]["code"]) == (409, "not_usable")
    assert "Set-Cookie" not in answer.headers
    assert living(engine, id_of(neighbours, "stranger")) == before
    assert (me(shared, owner), me(shared)) == ("Ilka", "Joris")


def test_an_invitation_of_another_household_is_not_spent_on_a_shared_phone(
    shared, neighbours: Neighbours, engine, clock
):
    with writing(engine) as db:
        invited = access.invite(db, neighbours.stranger.who, "Wim", "helper", clock.now())
    joining = {"token": str(invited.token), "login": "wim", "password": PASSWORD}
    assert shared.post("/api/v1/join", joining, **named(id_of(neighbours, "owner"))).status_code == 409
    assert at_the_door(shared.client.application, None).post("/api/v1/join", joining).status_code == 201


@pytest.mark.parametrize("beside", [None, "1d2fad59-a718-43a5-9816-0f1b402a6a72"])
def test_another_household_is_never_mixed_in(shared: Visitor, neighbours: Neighbours, beside: str | None):
    """Where nobody who is here is named, the phone's new household is alone on it."""
    assert come_in(shared, "stranger", beside=beside).status_code == 200
    assert me(shared) == "Bram"
    assert [me(shared, id_of(neighbours, who)) for who in ("owner", "helper")] == [None, None]


def test_a_phone_is_shared_by_so_many_and_no_more(phone, neighbours: Neighbours, engine, clock, password_hash):
    owner = id_of(neighbours, "owner")
    come_in(phone, "owner")
    with writing(engine) as db:
        for n in range(access.MOST_PEOPLE):
            invite_in(db, neighbours.owner.who, f"Guest{n}", "helper", password_hash, clock.now())
    answers = [
        phone.post("/api/v1/sign-in", {"login": f"guest{n}", "password": PASSWORD}, **named(owner))
        for n in range(access.MOST_PEOPLE)
    ]
    assert [answer.status_code for answer in answers] == [200] * (access.MOST_PEOPLE - 1) + [409]
    assert "has to sign out" in answers[-1].json["error"]["message"]
    assert me(phone, owner) == "Ilka"


def test_a_flood_of_cookies_makes_few_lookups(app: Flask, neighbours: Neighbours, engine):
    flooded = at_the_door(app, None)
    for n in range(200):
        flooded.client.set_cookie(f"holdwatch-{n}", neighbours.owner.cookie_value[:-3] + "AAA", domain="127.0.0.1")
    asked: list[str] = []
    sa.event.listen(engine, "before_cursor_execute", lambda *given: asked.append(given[2]))
    assert me(flooded) is None
    assert 0 < len([statement for statement in asked if "device_session" in statement]) <= 2 * access.MOST_PEOPLE


def test_a_sign_of_life_renews_the_cookie_of_who_asked_alone(shared: Visitor, neighbours: Neighbours, clock):
    helper = id_of(neighbours, "helper")
    clock.move(minutes=61)
    answer = shared.post("/api/v1/invitations/look", {"token": "x"})
    assert "Set-Cookie" not in answer.headers
    body = {"schema": 2, "device": "ab12cd34", "cursor": 0, "epoch": None, "changes": []}
    answer = shared.post("/api/v1/sync", body, **named(helper))
    assert list(set_cookies(answer)) == [f"holdwatch-{helper}"]
    answer = shared.post("/api/v1/sync", body, **named(id_of(neighbours, "owner")))
    assert list(set_cookies(answer)) == ["holdwatch"]


def test_every_cookie_on_https_is_for_this_host_and_no_script(engine, clock, neighbours: Neighbours):
    settings = Settings("", "https://holdwatch.example", None, "mailto:operator@example.org")
    client = create_app(settings, engine, clock.now).test_client()
    headers = {"Origin": settings.origin, "Holdwatch-Person": id_of(neighbours, "owner")}
    asked = {"base_url": settings.origin, "headers": headers}
    answers = [
        client.post("/api/v1/sign-in", json={"login": LOGINS[who], "password": PASSWORD}, **asked)
        for who in ("owner", "helper")
    ]
    morsels = [morsel for answer in answers for morsel in set_cookies(answer).values()]
    assert [morsel.key for morsel in morsels] == ["__Host-holdwatch", f"__Host-holdwatch-{id_of(neighbours, 'helper')}"]
    for morsel in morsels:
        assert (morsel["secure"], morsel["httponly"], morsel["samesite"], morsel["path"]) == (True, True, "Lax", "/")
        assert morsel["domain"] == ""


def test_changes_of_a_shared_phone_come_from_our_own_pages_only(shared: Visitor, neighbours: Neighbours):
    headers = {"Sec-Fetch-Site": "cross-site", "Holdwatch-Person": id_of(neighbours, "owner")}
    answer = shared.post("/api/v1/invitations", {"name": "Wim", "role": "keeper"}, headers=headers)
    assert (answer.status_code, answer.json["error"]["code"]) == (403, "cross_site")
