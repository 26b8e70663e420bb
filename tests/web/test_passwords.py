"""A password is changed by who knows it; a forgotten one is set anew with an address that the machine printed."""

from __future__ import annotations

from datetime import timedelta

import pytest
import sqlalchemy as sa

from holdwatch.services import access
from holdwatch.services.access.attempts import LOGIN_FREE
from holdwatch.services.access.tokens import parse_token
from holdwatch.store.database import reading, writing
from holdwatch.store.tables import recovery
from people import PASSWORD, Clock, Neighbours, Visitor, Visitors, at_the_door
from services.reminding import subscribe, subscriptions

NEW = "the female above the ledge"
LOGIN = "ilka@reedmarsh.example"


def change(visitor: Visitor, current: str = PASSWORD, new: str = NEW):
    return visitor.post("/api/v1/password", {"current": current, "password": new})


def sign_in(visitor: Visitor, password: str, login: str = LOGIN):
    return visitor.post("/api/v1/sign-in", {"login": login, "password": password})


@pytest.fixture
def second_phone(visitors: Visitors, app) -> Visitor:
    """Another phone of the owner's."""
    browser = at_the_door(app, None)
    assert sign_in(browser, PASSWORD).status_code == 200
    return browser


@pytest.fixture
def token(engine: sa.Engine, neighbours: Neighbours, clock: Clock) -> str:
    """The secret of an address for the owner of the first household."""
    return new_token(engine, clock)


def new_token(engine: sa.Engine, clock: Clock) -> str:
    with writing(engine) as db:
        (owner,) = (one for one in access.owners(db) if one.household == "Reedmarsh Lane")
        return str(access.new_recovery(db, owner, clock.now()))


def test_who_knows_the_password_changes_it_and_stays_signed_in_here_alone(visitors: Visitors, second_phone: Visitor):
    assert change(visitors.owner).status_code == 204
    assert visitors.owner.get("/api/v1/me").status_code == 200
    assert second_phone.get("/api/v1/me").status_code == 401
    assert visitors.keeper.get("/api/v1/me").status_code == visitors.stranger.get("/api/v1/me").status_code == 200
    assert sign_in(visitors.signed_out, PASSWORD).status_code == 401
    assert sign_in(visitors.signed_out, NEW).status_code == 200


@pytest.mark.parametrize("role", ["keeper", "helper"])
def test_everybody_changes_their_own(visitors: Visitors, role: str):
    assert change(getattr(visitors, role)).status_code == 204
    login = {"keeper": "tamsin", "helper": "joris"}[role]
    assert sign_in(visitors.signed_out, NEW, login).status_code == 200
    assert sign_in(visitors.signed_out, PASSWORD).status_code == 200


def test_a_phone_that_was_signed_out_by_it_gets_no_reminders(visitors, second_phone, engine, clock, neighbours):
    cookie = second_phone.client.get_cookie("holdwatch", domain="127.0.0.1")
    with reading(engine) as db:
        other = access.whoever(db, cookie.value, clock.now())
    subscribe(engine, access.Opened(other, ""), "second", clock.now())
    subscribe(engine, neighbours.owner, "first", clock.now())
    assert change(visitors.owner).status_code == 204
    assert set(subscriptions(engine)) == {"first"}


def test_a_wrong_present_password_changes_nothing_and_says_where(visitors: Visitors, second_phone: Visitor):
    answer = change(visitors.owner, "not the password")
    assert (answer.status_code, answer.json["error"]["code"]) == (403, "wrong_password")
    assert list(answer.json["error"]["where"]) == ["current"]
    assert second_phone.get("/api/v1/me").status_code == 200
    assert sign_in(visitors.signed_out, PASSWORD).status_code == 200


def test_who_holds_somebodys_phone_cannot_guess_on_it_without_end(visitors: Visitors, clock: Clock):
    statuses = [change(visitors.owner, f"guess number {number}").status_code for number in range(LOGIN_FREE + 2)]
    assert statuses == [403] * (LOGIN_FREE + 1) + [429]
    assert change(visitors.owner).status_code == 429
    clock.move(minutes=10)
    assert change(visitors.owner).status_code == 204
    # It was found right, so the failures are forgotten.
    assert change(visitors.owner, "a slip of the finger", PASSWORD).status_code == 403
    assert change(visitors.owner, NEW, PASSWORD).status_code == 204


@pytest.mark.parametrize("new", ["short", "x" * 201, "a line\nand another", ""])
def test_a_new_password_is_as_strict_as_the_first(visitors: Visitors, new: str):
    answer = change(visitors.owner, new=new)
    assert (answer.status_code, list(answer.json["error"]["where"])) == (422, ["password"])


def test_of_two_phones_that_change_it_at_once_only_one_does(engine, neighbours: Neighbours, clock: Clock):
    owner = neighbours.owner.who
    with writing(engine) as db:
        knocks = [access.knock_again(db, owner, "127.0.0.1", clock.now()) for _ in range(2)]
    with writing(engine) as db:
        access.change_password(db, owner, knocks[0], "the first hash", clock.now())
    with pytest.raises(access.WrongPassword), writing(engine) as db:
        access.change_password(db, owner, knocks[1], "the second hash", clock.now())


def test_the_address_says_whose_password_it_is_for_and_is_not_spent_by_looking(visitors: Visitors, token: str):
    for _ in range(2):
        answer = visitors.signed_out.post("/api/v1/recovery/look", {"token": token})
        assert answer.json == {"household": "Reedmarsh Lane", "name": "Ilka", "login": LOGIN}


def test_with_the_address_a_new_password_is_set_once_and_every_old_session_ends(
    visitors: Visitors, second_phone: Visitor, token: str
):
    body = {"token": token, "password": NEW}
    answer = visitors.signed_out.post("/api/v1/recovery", body)
    assert answer.status_code == 200 and answer.json["person"]["name"] == "Ilka"
    assert visitors.signed_out.get("/api/v1/me").status_code == 200
    assert visitors.owner.get("/api/v1/me").status_code == second_phone.get("/api/v1/me").status_code == 401
    assert visitors.keeper.get("/api/v1/me").status_code == 200
    again = visitors.stranger.post("/api/v1/recovery", body)
    assert (again.status_code, again.json["error"]["code"]) == (409, "not_usable")
    assert sign_in(second_phone, PASSWORD).status_code == 401 and sign_in(second_phone, NEW).status_code == 200


def test_who_was_locked_out_by_guessing_comes_in_with_the_new_password(visitors: Visitors, token: str):
    for number in range(LOGIN_FREE + 3):
        sign_in(visitors.stranger, f"guess number {number}")
    assert sign_in(visitors.stranger, PASSWORD).status_code == 429
    assert visitors.signed_out.post("/api/v1/recovery", {"token": token, "password": NEW}).status_code == 200
    assert sign_in(visitors.signed_out, NEW).status_code == 200


def test_the_address_is_good_for_an_hour_and_the_newest_alone(visitors: Visitors, engine, clock: Clock, token: str):
    newer = new_token(engine, clock)
    look = visitors.signed_out.post("/api/v1/recovery/look", {"token": token})
    assert look.status_code == 404
    clock.move(minutes=59)
    assert visitors.signed_out.post("/api/v1/recovery/look", {"token": newer}).status_code == 200
    clock.move(minutes=1)
    late = visitors.signed_out.post("/api/v1/recovery", {"token": newer, "password": NEW})
    assert (late.status_code, late.json["error"]["code"]) == (409, "not_usable")


def test_the_address_is_of_use_on_this_machine_only(visitors: Visitors, token: str):
    for path, body in (("recovery/look", {"token": token}), ("recovery", {"token": token, "password": NEW})):
        proxied = visitors.signed_out.post(f"/api/v1/{path}", body, headers={"X-Forwarded-For": "203.0.113.9"})
        assert (proxied.status_code, proxied.json["error"]["code"]) == (403, "not_allowed")


@pytest.mark.parametrize("part", [0, 1, 2])
def test_a_part_of_the_secret_opens_nothing(visitors: Visitors, neighbours: Neighbours, token: str, part: int):
    parts = token.split(".")
    parts[part] = [neighbours.stranger.who.household_id, neighbours.owner.who.session_id, "A" * 43][part]
    answer = visitors.signed_out.post("/api/v1/recovery/look", {"token": ".".join(parts)})
    assert answer.status_code == 404


def test_the_database_keeps_the_hash_alone(engine: sa.Engine, clock: Clock, token: str):
    with reading(engine) as db:
        (row,) = db.execute(sa.select(recovery)).all()
    secret = parse_token(token)
    assert secret is not None and secret.secret not in str(row)
    assert row.expires_at - timedelta(hours=1) // timedelta(milliseconds=1) == int(clock.now().timestamp() * 1000)
