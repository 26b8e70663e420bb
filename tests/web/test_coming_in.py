"""Setting up, signing in, joining and signing out, as a browser does it."""

from __future__ import annotations

from http.cookies import SimpleCookie

import pytest
import sqlalchemy as sa
from flask import Flask

from holdwatch.app import create_app
from holdwatch.config import Settings
from holdwatch.services import access
from holdwatch.services.access.attempts import LOGIN_FREE
from holdwatch.store.database import reading, writing
from holdwatch.store.tables import attempt, device_session
from people import PASSWORD, Visitor, Visitors, at_the_door

LOGIN = {"login": "ilka@reedmarsh.example", "password": PASSWORD}
FOUNDING = {"household": "Reedmarsh Lane", "name": "Ilka", "login": "ilka", "password": PASSWORD}


@pytest.fixture
def code(engine, clock) -> str:
    with writing(engine) as db:
        return access.new_setup_code(db, clock.now())


@pytest.fixture
def browser(app: Flask) -> Visitor:
    return at_the_door(app, None)


def cookie_of(response) -> SimpleCookie:
    return SimpleCookie(response.headers["Set-Cookie"])


def test_the_owner_sets_up_and_is_signed_in(browser, code):
    answer = browser.post("/api/v1/setup", FOUNDING | {"code": code})
    assert answer.status_code == 201
    assert (answer.json["person"]["name"], answer.json["person"]["role"]) == ("Ilka", "owner")
    assert answer.json["household"]["name"] == "Reedmarsh Lane"
    assert browser.get("/api/v1/me").json == answer.json


def test_me_tells_the_epoch_and_the_key_for_push(browser, code, app):
    answer = browser.post("/api/v1/setup", FOUNDING | {"code": code}).json
    identity = app.extensions["holdwatch"].identity
    assert (answer["epoch"], answer["push_key"]) == (identity.epoch, identity.vapid_public)


@pytest.mark.parametrize(
    "elsewhere",
    [
        {"environ_overrides": {"REMOTE_ADDR": "192.168.1.20"}},
        {"environ_overrides": {"REMOTE_ADDR": "2001:db8::1"}},
        {"environ_overrides": {"REMOTE_ADDR": ""}},
        {"headers": {"X-Forwarded-For": "127.0.0.1"}},
        {"headers": {"Forwarded": "for=127.0.0.1"}},
        {"headers": {"X-Real-IP": "127.0.0.1"}},
        {"headers": {"Via": "1.1 proxy"}},
    ],
)
def test_nobody_sets_up_from_elsewhere_or_through_a_proxy(browser, code, elsewhere):
    answer = browser.post("/api/v1/setup", FOUNDING | {"code": code}, **elsewhere)
    assert (answer.status_code, answer.json["error"]["code"]) == (403, "not_allowed")
    assert browser.post("/api/v1/setup", FOUNDING | {"code": code}).status_code == 201


@pytest.mark.parametrize("near", ["127.0.0.1", "127.8.9.10", "::1", "::ffff:127.0.0.1"])
def test_every_address_of_this_machine_is_near(browser, code, near):
    answer = browser.post("/api/v1/setup", FOUNDING | {"code": code}, environ_overrides={"REMOTE_ADDR": near})
    assert answer.status_code == 201


def test_a_setup_code_that_was_used_says_what_to_do(browser, code):
    browser.post("/api/v1/setup", FOUNDING | {"code": code})
    answer = browser.post("/api/v1/setup", FOUNDING | {"code": code, "login": "other"})
    assert (answer.status_code, answer.json["error"]["code"]) == (409, "not_usable")
    assert "Start the server again" in answer.json["error"]["message"]


def test_the_cookie_on_plain_http_is_for_this_host_and_no_script(visitors: Visitors):
    morsel = cookie_of(visitors.signed_out.post("/api/v1/sign-in", LOGIN))["holdwatch"]
    assert (morsel["httponly"], morsel["samesite"], morsel["path"]) == (True, "Lax", "/")
    assert (morsel["secure"], morsel["domain"]) == ("", "")
    assert int(morsel["max-age"]) == 400 * 24 * 3600


def test_the_cookie_on_https_has_the_host_prefix(engine, clock, neighbours):
    settings = Settings("", "https://holdwatch.example", None, "mailto:operator@example.org")
    client = create_app(settings, engine, clock.now).test_client()
    asked = {"base_url": "https://holdwatch.example", "headers": {"Origin": "https://holdwatch.example"}}
    answer = client.post("/api/v1/sign-in", json=LOGIN, **asked)
    morsel = cookie_of(answer)["__Host-holdwatch"]
    assert (morsel["secure"], morsel["httponly"], morsel["samesite"], morsel["path"]) == (True, True, "Lax", "/")
    assert morsel["domain"] == ""
    assert client.get("/api/v1/me", **asked).status_code == 200


def test_an_unknown_login_and_a_wrong_password_get_the_same_answer(visitors: Visitors):
    wrong = visitors.signed_out.post("/api/v1/sign-in", LOGIN | {"password": "wrong"})
    unknown = visitors.signed_out.post("/api/v1/sign-in", LOGIN | {"login": "nobody"})
    assert (wrong.status_code, wrong.json) == (unknown.status_code, unknown.json)
    assert (wrong.status_code, wrong.json["error"]["code"]) == (401, "wrong_login")
    assert "Set-Cookie" not in wrong.headers


def test_failed_attempts_are_kept_and_then_must_wait(visitors: Visitors, engine, clock):
    for _ in range(LOGIN_FREE + 1):
        assert visitors.signed_out.post("/api/v1/sign-in", LOGIN | {"password": "wrong"}).status_code == 401
    with reading(engine) as db:
        assert set(db.scalars(sa.select(attempt.c.failures))) == {LOGIN_FREE + 1}
    answer = visitors.signed_out.post("/api/v1/sign-in", LOGIN)
    assert (answer.status_code, answer.json["error"]["code"]) == (429, "too_many_attempts")
    assert answer.headers["Retry-After"] == "2"
    clock.move(seconds=2)
    assert visitors.signed_out.post("/api/v1/sign-in", LOGIN).status_code == 200


def test_a_forwarded_address_counts_only_where_the_operator_says_so(engine, clock, settings):
    for trusted, asked in ((False, 429), (True, 401)):
        with writing(engine) as db:
            db.execute(sa.delete(attempt))
        told = Settings(settings.database_url, settings.origin, None, settings.contact, trust_forwarded=trusted)
        browser = at_the_door(create_app(told, engine, clock.now), None)
        answers = [
            browser.post("/api/v1/sign-in", {"login": f"n{n}", "password": "x"}, headers=forwarded(n)).status_code
            for n in range(22)
        ]
        assert answers == [401] * 21 + [asked]


def forwarded(number: int) -> dict[str, str]:
    return {"X-Forwarded-For": f"203.0.113.9, 192.0.2.{number}"}


def test_a_phone_keeps_its_name_and_one_without_is_given_one(visitors: Visitors):
    with_name = visitors.signed_out.post("/api/v1/sign-in", LOGIN | {"device": "zz99zz99"})
    assert with_name.status_code == 200
    devices = visitors.owner.get("/api/v1/devices").json
    assert "zz99zz99" in [device["device"] for device in devices]
    assert all(len(device["device"]) == 8 for device in devices)


def test_phones_are_told_apart_by_browser_and_system(visitors: Visitors):
    agent = "Mozilla/5.0 (Android 15; Mobile; rv:140.0) Gecko/140.0 Firefox/140.0"
    visitors.signed_out.post("/api/v1/sign-in", LOGIN, headers={"User-Agent": agent})
    listed = visitors.owner.get("/api/v1/devices").json
    labels = {device["label"]: device["id"] for device in listed}
    assert labels["Firefox on Android"] not in [device["id"] for device in listed if device["this"]]
    assert [device["id"] for device in listed if device["this"]] == [visitors.owner.who.session_id]


def test_signing_out_ends_the_session_and_takes_the_cookie(visitors: Visitors):
    answer = visitors.keeper.post("/api/v1/sign-out")
    assert answer.status_code == 204
    assert cookie_of(answer)["holdwatch"]["max-age"] == "0"
    assert visitors.keeper.get("/api/v1/me").status_code == 401


def test_an_invitation_is_looked_at_then_joined_once(visitors: Visitors):
    made = visitors.owner.post("/api/v1/invitations", {"name": "Wim", "role": "helper"})
    assert made.status_code == 201
    address, token = made.json["link_path"].split("#")
    assert address == "/join"
    seen = visitors.signed_out.post("/api/v1/invitations/look", {"token": token})
    assert seen.json == {
        "household": "Reedmarsh Lane",
        "name": "Wim",
        "role": "helper",
        "expires_at": made.json["expires_at"],
    }
    joining = {"token": token, "login": "wim", "password": PASSWORD}
    joined = visitors.signed_out.post("/api/v1/join", joining)
    assert (joined.status_code, joined.json["person"]["role"]) == (201, "helper")
    assert visitors.signed_out.get("/api/v1/me").json == joined.json
    assert visitors.signed_out.post("/api/v1/join", joining | {"login": "w"}).status_code == 409


def test_the_owner_sees_and_withdraws_open_invitations(visitors: Visitors):
    made = visitors.owner.post("/api/v1/invitations", {"name": "Wim", "role": "keeper"}).json
    assert [open_one["id"] for open_one in visitors.owner.get("/api/v1/invitations").json] == [made["id"]]
    assert "secret" not in visitors.owner.get("/api/v1/invitations").text
    assert visitors.owner.delete(f"/api/v1/invitations/{made['id']}").status_code == 204
    assert visitors.owner.get("/api/v1/invitations").json == []
    token = made["link_path"].split("#")[1]
    assert visitors.signed_out.post("/api/v1/invitations/look", {"token": token}).status_code == 409


@pytest.mark.parametrize("role", ["owner", "Keeper", "", None, 1])
def test_nobody_is_invited_as_anything_but_keeper_or_helper(visitors: Visitors, role):
    answer = visitors.owner.post("/api/v1/invitations", {"name": "Wim", "role": role})
    assert answer.status_code == 422
    assert list(answer.json["error"]["where"]) == ["role"]


def test_a_login_that_is_taken_is_said_at_its_field(visitors: Visitors):
    made = visitors.owner.post("/api/v1/invitations", {"name": "Wim", "role": "keeper"}).json
    joining = {"token": made["link_path"].split("#")[1], "login": "Tamsin", "password": PASSWORD}
    answer = visitors.signed_out.post("/api/v1/join", joining)
    assert answer.status_code == 409
    assert list(answer.json["error"]["where"]) == ["login"]


def test_a_removed_person_is_signed_out_at_the_next_request(visitors: Visitors):
    assert visitors.owner.delete(f"/api/v1/people/{visitors.helper.who.person_id}").status_code == 204
    assert visitors.helper.get("/api/v1/me").status_code == 401


def test_only_a_post_refreshes_when_a_phone_was_seen_and_only_by_the_hour(visitors: Visitors, engine, clock):
    start = seen_at(engine, visitors.owner)
    visitors.owner.post("/api/v1/invitations", {"name": "Wim", "role": "keeper"})
    clock.move(minutes=61)
    visitors.owner.get("/api/v1/me")
    assert seen_at(engine, visitors.owner) == start
    answer = visitors.owner.post("/api/v1/invitations", {"name": "Wim", "role": "keeper"})
    assert seen_at(engine, visitors.owner) == start + 61 * 60_000
    assert cookie_of(answer)["holdwatch"].value == visitors.owner.opened.cookie_value


def seen_at(engine: sa.Engine, visitor: Visitor) -> int:
    query = sa.select(device_session.c.seen_at).where(device_session.c.session_id == visitor.who.session_id)
    with reading(engine) as db:
        return db.execute(query).scalar_one()
