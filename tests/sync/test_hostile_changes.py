"""Whatever a push holds, the answer is a 4xx or a reason for each bad change, and the rest is taken."""

from __future__ import annotations

import gzip
import json
from typing import Any

import pytest
import sqlalchemy as sa

from holdwatch.records.kinds import KINDS, WATCHED_SPECIES
from people import Visitors
from sync.pushing import added, edited, household_tables, push, rows, said_once, stamp, values, written

LIMIT_BYTES = 512 * 1024
FIELDS = [(kind, name) for kind, schema in KINDS.items() for name in schema.fields]
# As JSON texts, since some are values that no honest encoder writes.
HOSTILE = {
    "an object": '{"$gt": ""}',
    "a list": '["full", "full"]',
    "deeply nested": "[" * 400 + "]" * 400,
    "a huge text": json.dumps("x" * 30_000),
    "a long text": json.dumps("x" * 15_000),
    "NUL": '"full\\u0000"',
    "half a surrogate pair": '"\\ud800"',
    "infinity by overflow": "1e999",
    "a huge number": "1" + "0" * 400,
    "an injection": '"\'; DROP TABLE record; --"',
    "markup": '"<img src=x onerror=alert(1)>"',
}
# What a field for people's own words may hold, however it looks; it is text to us and stays text.
MERE_WORDS = {"an injection", "markup"}
WORDS = {
    *((kind, "note") for kind in KINDS),
    *(("tank", "name"), ("fish", "name"), ("fish", "spot"), ("feeding", "food"), ("mark", "duty")),
    ("trust", "thermometer"),
    *(("batch", name) for name in ("name", "spot", "portion", "jug")),
    *(("food", name) for name in ("name", "measure")),
}


@pytest.fixture(scope="module")
def engine(lasting_engine: sa.Engine) -> sa.Engine:
    return lasting_engine


@pytest.fixture(scope="module")
def visitors(lasting_visitors: Visitors) -> Visitors:
    return lasting_visitors


def request(changes: list[Any], **more: Any) -> dict[str, Any]:
    return {"schema": 1, "device": "ab12cd34", "cursor": 2**50, "epoch": None, "changes": changes, **more}


def post(visitor, body: bytes | dict[str, Any], **headers: str):
    data = body if isinstance(body, bytes) else json.dumps(body).encode()
    return visitor.post("/api/v1/sync", data=data, content_type="application/json", headers=headers)


def check_refused(answer, status: int | None = None) -> None:
    assert answer.status_code == status if status else 400 <= answer.status_code < 500, answer.text[:300]
    assert set(answer.json["error"]) == {"code", "message", "where"}
    assert answer.json["error"]["message"].isprintable()
    assert len(answer.data) < 4000


@pytest.mark.parametrize("shaped", [dict, said_once], ids=["as of old", "said once"])
@pytest.mark.parametrize(("kind", "name"), FIELDS)
def test_every_field_of_every_kind_refuses_what_it_cannot_be_and_the_rest_is_taken(
    visitors, engine, kind, name, shaped
):
    who = visitors.owner.who
    kinds = [hostile for hostile in HOSTILE if not (hostile in MERE_WORDS and (kind, name) in WORDS)]
    good = [added(who, kind) for _ in kinds]
    bad = [added(who, kind, **{name: f"value {n}"}) for n, _ in enumerate(kinds)]
    body = json.dumps(request([shaped(change) for pair in zip(bad, good, strict=True) for change in pair]))
    for n, hostile in enumerate(kinds):
        body = body.replace(f'"value {n}"', HOSTILE[hostile])
    answer = post(visitors.owner, body.encode())
    assert answer.status_code == 200, answer.text[:300]
    verdicts = answer.json["verdicts"]
    for hostile, refused, taken in zip(kinds, verdicts[::2], verdicts[1::2], strict=True):
        assert (refused["verdict"], taken["verdict"]) == ("refused", "taken"), hostile
        assert name in refused["reason"]
        assert refused["reason"].isprintable()
        assert len(refused["reason"]) < 300
    held = rows(engine, who)
    assert all(change["id"] in held for change in good)
    assert not any(change["id"] in held for change in bad)


@pytest.mark.parametrize(("kind", "name"), sorted(WORDS))
@pytest.mark.parametrize("hostile", sorted(MERE_WORDS))
def test_peoples_own_words_are_kept_to_the_letter(visitors, engine, kind, name, hostile):
    made = added(visitors.owner.who, kind, **{name: json.loads(HOSTILE[hostile])})
    assert post(visitors.owner, request([made])).json["verdicts"][0]["verdict"] == "taken"
    assert values(rows(engine, visitors.owner.who)[made["id"]]) == {name: json.loads(HOSTILE[hostile])}


@pytest.mark.parametrize(
    ("kind", "fields", "says"),
    [
        ("reading", {"temperature_c": 45.1}, "temperature_c: must be between -5 and 45 °C."),
        ("reading", {"temperature_c": -5.1}, "temperature_c: must be between -5 and 45 °C."),
        ("tank", {"set_point_c": 77}, "set_point_c: must be between -5 and 45 °C."),
        ("look", {"at": "2026-11-25T20:10:00"}, "has no offset from UTC; add Z or +01:00."),
        ("brood", {"not_before": "2026-11-25"}, "has no offset from UTC; add Z or +01:00."),
        (
            "tank",
            {"zone": "Europe/Reedmarsh"},
            "zone: 'Europe/Reedmarsh' is no time zone; one is called Europe/Berlin.",
        ),
        ("fish", {"species": "a_goldfish"}, f"species: must be one of {', '.join(WATCHED_SPECIES)}."),
        ("wish", {"note": "x"}, "There are no records of the kind 'wish'."),
        ("look", {"mood": "x"}, "A look has no field mood."),
    ],
)
def test_bad_values_are_refused_in_words_that_a_person_can_act_on(visitors, kind, fields, says):
    answer = post(visitors.owner, request([added(visitors.owner.who, kind, **fields)]))
    (verdict,) = answer.json["verdicts"]
    assert (verdict["verdict"], verdict["fields"]) == ("refused", [])
    assert verdict["reason"].endswith(says)


def test_another_households_records_can_neither_be_seen_nor_changed_nor_told_from_none(visitors, engine):
    owner, stranger = visitors.owner.who, visitors.stranger.who
    ours = added(owner, "look", stamp(), mouth="full")
    push(engine, owner, [ours])
    before = rows(engine, owner)
    attempts = [
        edited(ours, stamp(5), stamp(0), mouth="normal"),
        {**ours, "author": stranger.person_id},
        added(stranger, "feeding", about=ours["id"]),
        added(stranger, "mark", about=owner.household_id),
    ]
    first = post(visitors.stranger, request(attempts, cursor=0)).json
    assert [verdict["verdict"] for verdict in first["verdicts"]] == ["refused", "taken", "taken", "refused"]
    unknown = {**edited(ours, stamp(5), stamp(0), mouth="normal"), "id": added(owner, "look")["id"]}
    (refused,) = post(visitors.stranger, request([unknown])).json["verdicts"]
    assert refused["reason"] == first["verdicts"][0]["reason"]
    assert rows(engine, owner) == before
    assert {row["author"] for row in first["rows"]} == {stranger.person_id}


@pytest.mark.parametrize("shape", [None, 7, 1.5, True, "a look", "", [], [{}], {}, {"id": None}, {"fields": None}])
def test_a_change_of_any_shape_is_judged_alone_and_the_rest_is_taken(visitors, shape):
    before, after = (added(visitors.owner.who, "look") for _ in range(2))
    answer = post(visitors.owner, request([before, shape, after]))
    assert answer.status_code == 200, answer.text[:300]
    assert [verdict["verdict"] for verdict in answer.json["verdicts"]] == ["taken", "refused", "taken"]
    refused = answer.json["verdicts"][1]
    assert refused["id"] is None and refused["reason"].endswith(".")


@pytest.mark.parametrize(
    ("name", "wrong"),
    [
        ("schema", [None, "1", 0, -1, 1.5, True, [], {}]),
        ("device", [None, 7, "", "AB12CD34", "ab12cd345", "ab12cd34\n", [], {}, "x" * 100_000]),
        ("cursor", [None, "0", -1, 1.5, True, 2**63, 10**400, [], {}]),
        ("epoch", [7, [], {}, "x" * 61]),
        ("changes", [None, 7, "[]", {}, {"0": {}}, [{}] * 501]),
    ],
)
def test_a_wrong_envelope_is_refused_by_name_and_nothing_changes(visitors, engine, name, wrong):
    before = household_tables(engine)
    for value in wrong:
        answer = post(visitors.owner, request([added(visitors.owner.who, "look")]) | {name: value})
        check_refused(answer, 422)
        assert list(answer.json["error"]["where"]) == [name]
    assert household_tables(engine) == before


def test_a_batch_of_five_hundred_is_taken_and_one_of_five_hundred_and_one_is_not(visitors, engine):
    looks = [added(visitors.owner.who, "look") for _ in range(501)]
    before = household_tables(engine)
    check_refused(post(visitors.owner, request(looks)), 422)
    assert household_tables(engine) == before
    assert len(post(visitors.owner, request(looks[:500])).json["verdicts"]) == 500


BROKEN = {
    "cut off": lambda sent: gzip.compress(sent)[:-9],
    "no gzip at all": lambda sent: sent,
    "nothing": lambda sent: b"",
    "a wrong checksum": lambda sent: gzip.compress(sent)[:-8] + b"\0" * 8,
    "garbage in the middle": lambda sent: gzip.compress(sent)[:30] + b"\xff" * 60 + gzip.compress(sent)[90:],
    "something after the end": lambda sent: gzip.compress(sent) + b"more",
    "twice compressed": lambda sent: gzip.compress(gzip.compress(sent)),
    "a bomb": lambda sent: gzip.compress(sent[:-1] + b" " * (500 * LIMIT_BYTES) + b"}"),
    "a bomb in many members": lambda sent: gzip.compress(b" " * LIMIT_BYTES) * 300,
    "a little more than may be": lambda sent: gzip.compress(sent[:-1] + b" " * (LIMIT_BYTES + 1 - len(sent)) + b"}"),
}


@pytest.mark.parametrize("how", BROKEN)
def test_a_body_that_cannot_be_unpacked_or_swells_is_refused_and_nothing_changes(visitors, engine, how):
    sent = json.dumps(request([added(visitors.owner.who, "look") for _ in range(9)])).encode()
    before = household_tables(engine)
    check_refused(post(visitors.owner, BROKEN[how](sent), **{"Content-Encoding": "gzip"}))
    assert household_tables(engine) == before


def test_a_body_of_just_the_limit_is_taken_packed_or_not(visitors):
    sent = json.dumps(request([])).encode()
    sent = sent[:-1] + b" " * (LIMIT_BYTES - len(sent)) + b"}"
    assert post(visitors.owner, sent).status_code == 200
    assert post(visitors.owner, gzip.compress(sent), **{"Content-Encoding": "gzip"}).status_code == 200
    check_refused(post(visitors.owner, sent + b" "), 413)


@pytest.mark.parametrize("encoding", ["br", "deflate", "gzip, gzip", "zstd", "x"])
def test_a_body_in_another_packing_is_refused(visitors, encoding):
    check_refused(post(visitors.owner, request([]), **{"Content-Encoding": encoding}), 415)


def test_an_answer_is_packed_for_whoever_takes_it_and_is_the_same(visitors):
    push_all = request([], cursor=0)
    plain = post(visitors.owner, push_all, **{"Accept-Encoding": "identity"})
    packed = post(visitors.owner, push_all, **{"Accept-Encoding": "gzip"})
    assert packed.headers["Content-Encoding"] == "gzip"
    assert "Content-Encoding" not in plain.headers
    assert json.loads(gzip.decompress(packed.data))["rows"] == plain.json["rows"]
    assert len(packed.data) < len(plain.data) / 4


def test_signed_out_nothing_is_taken(visitors, engine):
    before = household_tables(engine)
    check_refused(post(visitors.signed_out, request([added(visitors.owner.who, "look")])), 401)
    assert household_tables(engine) == before


def test_a_change_written_many_times_over_in_one_push_is_kept_once(visitors, engine):
    who = visitors.owner.who
    made = added(who, "look", note="by the left urchin")
    assert {v["verdict"] for v in post(visitors.owner, request([made] * 500)).json["verdicts"]} == {"taken"}
    assert list(rows(engine, who).values()).count(rows(engine, who)[made["id"]]) == 1


def test_a_stamp_from_the_end_of_time_waits_and_does_not_block_the_field_for_ever(visitors, engine):
    who = visitors.owner.who
    made = added(who, "look", note="now")
    hostile = {**made, "fields": written({"note": "for ever"}, "9999999999999.ffff.zzzzzzzz")}
    answer = post(visitors.owner, request([made, hostile])).json
    assert [verdict["verdict"] for verdict in answer["verdicts"]] == ["taken", "clock"]
    assert values(rows(engine, who)[made["id"]]) == {"note": "now"}
