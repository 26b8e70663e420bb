"""Files of readings over HTTP, a tank's thermometers, and the tokens of its sensors."""

from __future__ import annotations

import base64
from datetime import UTC, datetime

import pytest
import sqlalchemy as sa

from holdwatch.services.temperature.form import MOST_COLUMNS
from holdwatch.store.database import writing
from measured import TANK, measured_tank
from people import Clock, Visitors

CHOICES = ("delimiter", "has_header", "time_columns", "value_column", "unit", "order")
NOTHING = dict.fromkeys(CHOICES) | {"clock": "tank"}
START = {"offset": 0, "line": 1, "last_ms": None, "steps_ms": []}
FILE = "Datum;Uhrzeit;Becken °C\r\n" + "".join(f"{day:02}.11.2026;20:10;26,{day % 10}\r\n" for day in range(1, 25))
TANKS = f"/api/v1/tanks/{TANK}"


@pytest.fixture
def token(engine: sa.Engine, visitors: Visitors, clock: Clock) -> str:
    with writing(engine) as db:
        return measured_tank(db, visitors.owner.who, clock.now())


def packed(text: str | bytes) -> str:
    return base64.b64encode(text.encode() if isinstance(text, str) else text).decode()


def preview(visitor, text=FILE, **chosen):
    sent = {"piece": packed(text), "is_last": True, "chosen": NOTHING | chosen}
    return visitor.post(f"{TANKS}/readings/preview", sent)


def take(visitor, form, text=FILE, spot=START, is_last=True, thermometer="logger"):
    sent = {"piece": packed(text), "is_last": is_last, "thermometer": thermometer, "form": form, "spot": spot}
    return visitor.post(f"{TANKS}/readings/import", sent)


def test_a_file_is_understood_then_taken_and_shown(visitors: Visitors, token):
    answer = preview(visitors.keeper).json
    assert answer["is_ready"] and answer["columns"] == ["Datum", "Uhrzeit", "Becken °C"]
    assert answer["form"] == {
        "encoding": "utf-8", "delimiter": ";", "has_header": True, "time_columns": [0, 1], "value_column": 2,
        "unit": "C", "order": "dmy", "clock": "tank",
    }  # fmt: skip
    assert answer["rows"][0] == {"line": 2, "at": "2026-11-01T19:10:00+00:00", "celsius": 26.1}
    assert answer["cells"][0] == ["01.11.2026", "20:10", "26,1"]
    assert visitors.owner.get(f"{TANKS}/thermometers").json["thermometers"] == []
    taken = take(visitors.keeper, answer["form"]).json
    assert (taken["taken"], taken["known"], taken["wrong_count"]) == (24, 0, 0)
    shown = visitors.helper.get(f"{TANKS}/thermometers").json
    assert shown["thermometers"] == [{
        "name": "logger", "readings": 24, "first_at": "2026-11-01T19:10:00+00:00",
        "last_at": "2026-11-24T19:10:00+00:00", "last_c": 26.4,
    }]  # fmt: skip
    assert shown["file_limit_bytes"] == 100 * 2**20 and shown["piece_limit_bytes"] == 2**18


def test_what_has_to_be_asked_for_comes_with_an_example(visitors: Visitors, token):
    answer = preview(visitors.owner, "03/11/2026 20:10,26.1\n", unit="C").json
    assert not answer["is_ready"] and answer["rows"] == [] and answer["orders"] == ["dmy", "mdy"]
    assert answer["example"] == {
        "text": "03/11/2026 20:10",
        "days": [{"order": "dmy", "day": "2026-11-03"}, {"order": "mdy", "day": "2026-03-11"}],
    }
    assert preview(visitors.owner, "03/11/2026 20:10,26.1\n", unit="C", order="mdy").json["rows"][0]["line"] == 1


@pytest.mark.parametrize("missing", [{"unit": None}, {"value_column": None}, {"time_columns": []}])
def test_nothing_is_kept_while_something_has_to_be_chosen(visitors: Visitors, token, missing):
    form = preview(visitors.keeper).json["form"] | missing
    answer = take(visitors.keeper, form)
    assert answer.status_code == 422
    assert "Choose the columns and the unit first." in answer.text
    assert visitors.owner.get(f"{TANKS}/thermometers").json["thermometers"] == []


def test_a_file_goes_on_where_the_server_says(visitors: Visitors, token):
    form = preview(visitors.owner).json["form"]
    whole, spot, taken = FILE.encode(), START, 0
    while spot["offset"] < len(whole):
        piece = whole[spot["offset"] : spot["offset"] + 100]
        answer = take(visitors.owner, form, piece, spot, spot["offset"] + len(piece) == len(whole)).json
        spot, taken = answer["spot"], taken + answer["taken"]
    assert taken == 24 and spot["line"] == 26


def test_a_helper_imports_nothing_and_makes_no_token(visitors: Visitors, token):
    form = preview(visitors.owner).json["form"]
    for answer in (
        preview(visitors.helper), take(visitors.helper, form), visitors.helper.get(f"{TANKS}/tokens"),
        visitors.helper.post(f"{TANKS}/tokens", {"name": "probe"}),
        visitors.helper.delete(f"/api/v1/tokens/{token.split('.')[1]}"),
    ):  # fmt: skip
        assert (answer.status_code, answer.json["error"]["code"]) == (403, "not_allowed")


def test_a_tank_without_a_zone_says_what_is_missing(visitors: Visitors, engine, token):
    fields = {"zone": {"value": None, "stamp": "1764101400001.0000.ab12cd34", "was": None}}
    author = {"author": visitors.owner.who.person_id, "device": "ab12cd34"}
    change = {"id": TANK, "kind": "tank", "fields": fields} | author
    push = {"schema": 1, "device": "ab12cd34", "cursor": 0, "epoch": None, "changes": [change]}
    assert visitors.owner.post("/api/v1/sync", push).json["verdicts"][0]["verdict"] == "taken"
    answer = preview(visitors.owner)
    assert answer.status_code == 409 and "time zone" in answer.json["error"]["message"]


@pytest.mark.parametrize(
    ("part", "value", "where"),
    [
        ("piece", "not base64!", "piece"), ("piece", packed(b"x" * (2**18 + 1)), "piece"), ("piece", 7, "piece"),
        ("thermometer", "", "thermometer"), ("thermometer", "x" * 81, "thermometer"),
        ("thermometer", "a\nb", "thermometer"), ("thermometer", "   ", "thermometer"),
        ("spot", START | {"offset": 2**27}, "spot.offset"), ("spot", START | {"line": 0}, "spot.line"),
        ("spot", START | {"steps_ms": [1] * 6}, "spot.steps_ms"), ("spot", START | {"last_ms": "now"}, "spot.last_ms"),
        ("form", {"delimiter": "x"}, "form.delimiter"), ("form", {"encoding": "utf-7"}, "form.encoding"),
        ("form", {"unit": "R"}, "form.unit"), ("form", {"value_column": -1}, "form.value_column"),
        ("form", {"time_columns": [0, 1, 2]}, "form.time_columns"), ("form", {"order": "ydm"}, "form.order"),
    ],
)  # fmt: skip
def test_what_cannot_be_used_is_named(visitors: Visitors, token, part, value, where):
    form = preview(visitors.owner).json["form"]
    sent = {"piece": packed(FILE), "is_last": True, "thermometer": "logger", "form": form, "spot": START}
    sent[part] = form | value if part == "form" else value
    answer = visitors.owner.post(f"{TANKS}/readings/import", sent)
    assert answer.status_code == 422
    assert any(name.startswith(where) for name in answer.json["error"]["where"]), answer.json
    assert visitors.owner.get(f"{TANKS}/thermometers").json["thermometers"] == []


@pytest.mark.parametrize("chosen", [{"value_column": MOST_COLUMNS}, {"time_columns": [0, MOST_COLUMNS]}], ids=str)
def test_a_column_beyond_those_that_are_read_is_refused_at_both_doors(visitors: Visitors, token, chosen):
    file = FILE.splitlines()[1] + ";x" * MOST_COLUMNS
    said = f"Only the first {MOST_COLUMNS} columns of a file are read."
    form = preview(visitors.owner, file, value_column=MOST_COLUMNS - 1, time_columns=[0, 1]).json["form"]
    assert form["value_column"] == MOST_COLUMNS - 1
    for answer in (preview(visitors.owner, file, **chosen), take(visitors.owner, form | chosen, file)):
        assert answer.status_code == 422 and said in answer.text


@pytest.mark.parametrize(
    "data", [b"", b"\x00" * 1000, bytes(range(256)) * 20, b'"' * 999, b"\xff\xfe" + b"a" * 99, b"\n" * 999]
)
def test_whatever_a_file_is_it_is_answered(visitors: Visitors, token, data):
    answer = preview(visitors.owner, data, unit="C", time_columns=[0], value_column=1)
    assert answer.status_code == 200
    form = answer.json["form"] | {"time_columns": [0], "value_column": 1, "unit": "C"}
    assert take(visitors.owner, form, data).json["taken"] == 0


def test_tokens_are_made_listed_and_revoked(visitors: Visitors, clock: Clock, token):
    # They are listed in the order of their making, which two of one instant do not have.
    clock.move(minutes=1)
    made = visitors.keeper.post(f"{TANKS}/tokens", {"name": " sump "})
    assert made.status_code == 201 and made.json["token"].split(".")[1] == made.json["id"]
    listed = visitors.owner.get(f"{TANKS}/tokens").json
    assert [(one["name"], one["used_at"]) for one in listed] == [("probe", None), ("sump", None)]
    assert made.json["token"].split(".")[2] not in str(listed)
    headers = {"Authorization": f"Bearer {made.json['token']}"}
    clock.move(minutes=3)
    visitors.signed_out.post("/api/v1/readings", [], headers=headers)
    used = {one["name"]: one["used_at"] for one in visitors.owner.get(f"{TANKS}/tokens").json}
    assert datetime.fromisoformat(used["sump"]) == clock.now().astimezone(UTC)
    assert visitors.owner.delete(f"/api/v1/tokens/{made.json['id']}").status_code == 204
    assert [one["name"] for one in visitors.owner.get(f"{TANKS}/tokens").json] == ["probe"]
    assert visitors.signed_out.post("/api/v1/readings", [], headers=headers).status_code == 401
