"""The door for sensors: a token of one tank and nothing else, however it is knocked at."""

from __future__ import annotations

import gzip
import json

import pytest
import sqlalchemy as sa

from holdwatch.store import tables
from holdwatch.store.database import reading, writing
from measured import measured_tank
from people import ORIGIN, Clock, Visitors
from web.test_hostile_bodies import BODIES, check_refused, everything

READING = {"at": "2026-11-25T20:00:00Z", "temperature_c": 26.1}
DOOR = "/api/v1/readings"


@pytest.fixture
def token(engine: sa.Engine, visitors: Visitors, clock: Clock) -> str:
    with writing(engine) as db:
        return measured_tank(db, visitors.owner.who, clock.now())


def send(visitors: Visitors, token: str | None, sent=READING, **headers: str):
    """As a device sends it: without cookie, Origin or any word on where it comes from."""
    by_token = {"Authorization": f"Bearer {token}"} if token is not None else {}
    body = sent if isinstance(sent, bytes) else json.dumps(sent)
    usual = {"Content-Type": "application/json"} | by_token | headers
    return visitors.signed_out.client.post(DOOR, data=body, headers=usual, base_url=ORIGIN, buffered=True)


def kept(engine) -> int:
    with reading(engine) as db:
        return db.scalar(sa.select(sa.func.count()).select_from(tables.temperature_reading))


def test_one_reading_or_a_list_of_them_is_taken_by_its_token_alone(visitors: Visitors, engine, token):
    answer = send(visitors, token)
    assert (answer.status_code, answer.json) == (200, {"verdicts": [{"verdict": "taken", "reason": None}]})
    assert "Set-Cookie" not in answer.headers
    many = [READING, READING | {"at": "2026-11-25T20:01:00Z"}, READING | {"temperature_c": 99}]
    assert [one["verdict"] for one in send(visitors, token, many).json["verdicts"]] == ["known", "taken", "refused"]
    assert send(visitors, token, []).json == {"verdicts": []}
    assert kept(engine) == 2


@pytest.mark.parametrize(
    "headers",
    [{}, {"Sec-Fetch-Site": "cross-site"}, {"Origin": "https://evil.example"}, {"Sec-Fetch-Site": "none"}],
)
def test_where_it_comes_from_neither_helps_nor_hinders(visitors: Visitors, token, headers):
    assert send(visitors, token, **headers).status_code == 200
    refused = send(visitors, None, **headers)
    assert (refused.status_code, refused.json["error"]["code"]) == (401, "unknown_token")
    assert refused.headers["WWW-Authenticate"] == "Bearer"


def test_a_cookie_is_no_token_and_a_token_no_cookie(visitors: Visitors, engine, token):
    assert visitors.owner.post(DOOR, READING).status_code == 401
    assert kept(engine) == 0
    as_cookie = {"Cookie": f"holdwatch={token}"}
    by_token = {"Authorization": f"Bearer {token}"}
    for path in ("me", "devices", "tanks/018f6d2a-7c3e-7000-8000-0123456789ac/thermometers"):
        for headers in (as_cookie, by_token):
            assert visitors.signed_out.get(f"/api/v1/{path}", headers=headers).status_code == 401
    assert visitors.signed_out.ask("GET", DOOR, headers=by_token).status_code == 405


NAMES = {
    "taken": ["sump", " sump ", "x" * 80, "hall\u00a0left", "Caf\u00e9 \u2013 3", "\U0001f469\u200d\U0001f52c"],
    "refused": ["", " ", "\u00a0", "x" * 81, "a\nb", "a\tb", "a\x7f", "a\x00", "\ud800"],
}


@pytest.mark.parametrize(("verdict", "name"), [(verdict, name) for verdict, names in NAMES.items() for name in names])
def test_a_name_is_one_to_a_sensor_as_it_is_to_a_person(visitors: Visitors, token, verdict, name):
    (found,) = send(visitors, token, READING | {"sensor": name}).json["verdicts"]
    made = visitors.keeper.post("/api/v1/tanks/018f6d2a-7c3e-7000-8000-0123456789ac/tokens", {"name": name})
    assert (found["verdict"], made.status_code) == (verdict, 201 if verdict == "taken" else 422)
    if verdict == "refused":
        ((said,),) = made.json["error"]["where"].values()
        assert found["reason"].lower() == f"sensor: {said}".lower()


@pytest.mark.parametrize("scheme", ["bearer", "BEARER", "Bearer"])
def test_the_name_of_the_scheme_is_written_in_any_case(visitors: Visitors, token, scheme):
    # RFC 9110, 11.1.
    assert send(visitors, None, Authorization=f"{scheme} {token}").status_code == 200


@pytest.mark.parametrize("given", ["", "Bearer", "Bearer ", "Basic {token}", "{token}", "Bearer {token}x", "Bearer a"])
def test_other_credentials_are_none(visitors: Visitors, token, given):
    assert send(visitors, None, Authorization=given.format(token=token)).status_code == 401


def test_sixty_four_kibibytes_are_taken_and_no_more(visitors: Visitors, engine, token):
    filler = len(json.dumps([READING | {"sensor": ""}]))
    for size, status in ((64 * 1024, 200), (64 * 1024 + 1, 413)):
        answer = send(visitors, token, [READING | {"sensor": "x" * (size - filler)}])
        assert answer.status_code == status
    packed = gzip.compress(json.dumps([READING | {"sensor": "x" * 70_000}]).encode())
    assert send(visitors, token, packed, **{"Content-Encoding": "gzip"}).status_code == 413
    fair = gzip.compress(json.dumps([READING]).encode())
    assert send(visitors, token, fair, **{"Content-Encoding": "gzip"}).status_code == 200


def test_the_sixty_first_request_of_a_minute_is_told_when_to_come_again(visitors: Visitors, clock, token):
    for _ in range(60):
        assert send(visitors, token, []).status_code == 200
        clock.move(milliseconds=500)
    answer = send(visitors, token)
    assert (answer.status_code, answer.json["error"]["code"]) == (429, "too_many_attempts")
    assert answer.headers["Retry-After"] == "30"
    clock.move(seconds=30)
    assert send(visitors, token).status_code == 200


def test_the_readings_of_a_tank_that_was_taken_away_are_refused(visitors: Visitors, engine, token):
    change = {"gone": {"value": True, "stamp": "1764101400001.0000.ab12cd34", "was": None}}
    identity = {"id": "018f6d2a-7c3e-7000-8000-0123456789ac", "kind": "tank", "device": "ab12cd34"}
    push = {"schema": 1, "device": "ab12cd34", "cursor": 0, "epoch": None}
    author = {"author": visitors.owner.who.person_id, "fields": change}
    taken = visitors.owner.post("/api/v1/sync", push | {"changes": [identity | author]})
    assert taken.json["verdicts"][0]["verdict"] == "taken"
    answer = send(visitors, token)
    assert (answer.status_code, answer.json["error"]["code"]) == (409, "not_usable")


@pytest.mark.parametrize("body", [*BODIES, "text"], ids=str)
def test_a_body_of_the_wrong_form_is_refused_and_nothing_changes(visitors: Visitors, engine, token, body):
    before = everything(engine)
    sent = BODIES.get(body, b'"text"')
    answer = send(visitors, token, sent)
    if answer.status_code == 200:
        # What is JSON of the right form is judged reading by reading.
        assert {one["verdict"] for one in answer.json["verdicts"]} <= {"refused"}
        assert kept(engine) == 0
    else:
        check_refused(answer)
        assert everything(engine) == before


def test_what_is_not_json_is_refused(visitors: Visitors, token):
    assert send(visitors, token, **{"Content-Type": "text/csv"}).status_code == 415
