"""Whatever is sent, the answer is a 4xx in the one shape, and nothing has changed."""

from __future__ import annotations

import pytest
import sqlalchemy as sa

from holdwatch.services import access
from holdwatch.store.database import reading, writing
from holdwatch.store.tables import attempt, metadata
from people import PASSWORD, Visitors

# Each with a body that would be taken.
DOORS = {
    "setup": {"code": "c" * 32, "household": "Lower Mill", "name": "Eva", "login": "eva", "password": PASSWORD},
    "sign-in": {"login": "ilka@reedmarsh.example", "password": "not the password"},
    "join": {"token": "t" * 117, "login": "eva", "password": PASSWORD},
    "invitations": {"name": "Wim", "role": "keeper"},
    "invitations/look": {"token": "t" * 117},
}
VALUES = {
    "null": None,
    "a number": 7,
    "a huge number": 10**400,
    "a float": 1.5,
    "a truth": True,
    "a list": ["text"],
    "an object": {"$ne": ""},
    "nothing": "",
    "blanks": "   ",
    "NUL": "Ilka\x00",
    "a line break": "Ilka\nowner",
    "half a surrogate pair": "\ud800",
    "a huge text": "x" * 400_000,
}
TYPELESS = {"null", "a number", "a huge number", "a float", "a truth", "a list", "an object"}
BODIES = {
    "no JSON": b"{",
    "nothing": b"",
    "not UTF-8": b'{"login":"\xff\xfe"}',
    "UTF-16": '{"login":"a"}'.encode("utf-16"),
    "a list": b"[]",
    "a text": b'"text"',
    "a number": b"7",
    "null": b"null",
    "not a number": b'{"login":NaN}',
    "infinity": b'{"login":-Infinity}',
    "a number of 5,000 digits": b'{"login":' + b"9" * 5000 + b"}",
    "nested lists": b"[" * 100_000 + b"]" * 100_000,
    "nested objects": b'{"a":' * 50_000 + b"1" + b"}" * 50_000,
    "an unknown field": b'{"role":"owner","is_admin":true}',
    "a mark of byte order": b'\xef\xbb\xbf{"login":"a"}',
}


@pytest.fixture(scope="module")
def engine(lasting_engine: sa.Engine) -> sa.Engine:
    return lasting_engine


@pytest.fixture(scope="module")
def visitors(lasting_visitors: Visitors) -> Visitors:
    return lasting_visitors


def everything(engine: sa.Engine) -> dict[str, list[tuple]]:
    """All rows but the counted attempts."""
    with reading(engine) as db:
        tables = [table for table in metadata.sorted_tables if table is not attempt]
        return {table.name: sorted(map(str, db.execute(sa.select(table)))) for table in tables}


def check_refused(answer) -> None:
    assert 400 <= answer.status_code < 500, answer.text[:300]
    assert set(answer.json) == {"error"}
    assert set(answer.json["error"]) == {"code", "message", "where"}
    assert answer.json["error"]["message"]
    assert len(answer.data) < 4000


@pytest.mark.parametrize("body", BODIES, ids=str)
@pytest.mark.parametrize("door", [*DOORS, "sync"])
def test_a_body_of_the_wrong_form_is_refused(visitors: Visitors, engine, door, body):
    before = everything(engine)
    check_refused(visitors.owner.post(f"/api/v1/{door}", data=BODIES[body], content_type="application/json"))
    assert everything(engine) == before


@pytest.mark.parametrize("kind", VALUES, ids=str)
@pytest.mark.parametrize(("door", "field"), [(door, field) for door, fields in DOORS.items() for field in fields])
def test_a_field_of_the_wrong_kind_is_refused(visitors: Visitors, engine, clock, door, field, kind):
    with writing(engine) as db:
        code = access.new_setup_code(db, clock.now())
    before = everything(engine)
    fair = DOORS[door] | ({"code": code} if door == "setup" else {})
    answer = visitors.owner.post(f"/api/v1/{door}", fair | {field: VALUES[kind]})
    check_refused(answer)
    if kind in TYPELESS:
        assert list(answer.json["error"]["where"]) == [field]
    assert everything(engine) == before


@pytest.mark.parametrize("field", ["code", "household", "name", "login", "password"])
def test_a_missing_field_is_named(visitors: Visitors, field):
    sent = {name: value for name, value in DOORS["setup"].items() if name != field}
    answer = visitors.signed_out.post("/api/v1/setup", sent)
    assert answer.status_code == 422
    assert list(answer.json["error"]["where"]) == [field]
    assert field in answer.json["error"]["message"]


def test_a_short_password_is_refused_where_it_is_made(visitors: Visitors):
    answer = visitors.signed_out.post("/api/v1/join", DOORS["join"] | {"password": "nine char"})
    assert answer.json["error"]["where"] == {"password": ["This must be 10 to 200 characters long."]}


@pytest.mark.parametrize("login", ["two words", "tab\there", "non\u00a0breaking", " "])
def test_a_login_has_no_blanks(visitors: Visitors, login):
    answer = visitors.signed_out.post("/api/v1/join", DOORS["join"] | {"login": login})
    assert list(answer.json["error"]["where"]) == ["login"]


@pytest.mark.parametrize("path", ["devices", "people", "invitations"])
@pytest.mark.parametrize("name", ["7", "%00", "..", "%2e%2e%2f", "x" * 5000, "'%20OR%201=1--", "0" * 32])
def test_an_id_that_is_none_is_not_found(visitors: Visitors, path, name):
    answer = visitors.owner.delete(f"/api/v1/{path}/{name}")
    assert answer.status_code in (404, 405)
    check_refused(answer)


def test_a_wrong_method_names_the_right_ones(visitors: Visitors):
    answer = visitors.owner.get("/api/v1/sign-in")
    assert (answer.status_code, answer.json["error"]["code"]) == (405, "wrong_method")
    assert "POST" in answer.headers["Allow"]


@pytest.mark.parametrize("cookie", ["x", "a.b.c", "%00", "é", "." * 4000, "'; DROP TABLE person; --"])
def test_a_strange_cookie_is_signed_out(visitors: Visitors, cookie):
    answer = visitors.signed_out.get("/api/v1/me", headers={"Cookie": f"holdwatch={cookie}"})
    assert (answer.status_code, answer.json["error"]["code"]) == (401, "signed_out")
