"""What is taken and what is refused, and whether the reason helps whoever reads it."""

from __future__ import annotations

from datetime import timedelta

import pytest

from holdwatch.records.instants import milliseconds
from holdwatch.records.kinds import SCHEMA_NUMBER
from holdwatch.records.stamps import Stamp
from holdwatch.services.sync.judgement import AHEAD_LIMIT
from people import START
from sync.pushing import added, edited, history, new_id, push, refusal, rows, stamp, values, verdicts, written

NEWER = SCHEMA_NUMBER + 1


@pytest.fixture
def keeper(neighbours):
    return neighbours.keeper.who


@pytest.fixture
def helper(neighbours):
    return neighbours.helper.who


@pytest.fixture
def brood(engine, keeper):
    made = added(keeper, "brood", not_before="2026-11-20T00:00:00.000Z")
    assert verdicts(engine, keeper, made) == ["taken"]
    return made


def ahead(**by):
    return str(Stamp(milliseconds(START + AHEAD_LIMIT + timedelta(**by)), 0, "ab12cd34"))


@pytest.mark.parametrize("kind", ["tank", "fish"])
def test_a_helper_cannot_write_tanks_or_fish(engine, keeper, helper, kind):
    assert "A helper cannot write" in refusal(engine, helper, added(helper, kind))
    made = added(keeper, kind)
    push(engine, keeper, [made])
    assert "A helper cannot write" in refusal(engine, helper, edited(made, stamp(5), stamp(0), note="mine"))


@pytest.mark.parametrize("kind", ["brood", "look", "reading", "feeding", "mark"])
def test_a_helper_can_log_and_correct_but_not_take_away(engine, helper, kind):
    made = added(helper, kind)
    correction = edited(made, stamp(5), stamp(0), note="by the right urchin")
    assert verdicts(engine, helper, made, correction) == ["taken", "taken"]
    assert "cannot take records away" in refusal(engine, helper, edited(made, stamp(6), None, gone=True))


def test_a_new_record_names_as_its_author_the_person_who_is_signed_in(engine, keeper, helper):
    assert "author" in refusal(engine, helper, added(keeper, "look"))


def test_after_a_restore_anybody_brings_back_what_others_wrote_and_it_says_who_brought_it(engine, keeper, helper):
    lost = added(keeper, "look", stamp(0), mouth="full")
    assert verdicts(engine, helper, lost, brought_back=True) == ["taken"]
    row = rows(engine, helper)[lost["id"]]
    assert (row["author"], row["brought_by"]) == (keeper.person_id, helper.person_id)
    push(engine, keeper, [edited(lost, stamp(5), stamp(0), mouth="smaller")])
    assert history(engine, lost["id"]) == [("mouth", stamp(0), "full", keeper.person_id)]
    assert "cannot take" in refusal(engine, helper, edited(lost, stamp(6), None, gone=True), brought_back=True)
    assert verdicts(engine, keeper, edited(lost, stamp(6), None, gone=True), brought_back=True) == ["taken"]
    assert rows(engine, helper)[lost["id"]]["brought_by"] == helper.person_id


def test_what_its_own_author_brings_back_names_nobody_else(engine, keeper):
    lost = added(keeper, "look")
    assert verdicts(engine, keeper, lost, brought_back=True) == ["taken"]
    assert "brought_by" not in rows(engine, keeper)[lost["id"]]


def test_each_field_that_is_brought_back_has_the_author_whose_phone_stamped_it(engine, neighbours, keeper, helper):
    lost = added(keeper, "look", stamp(0, device=keeper.device), mouth="full", note="by him")
    lost["device"] = keeper.device
    lost["fields"] |= written({"note": "corrected"}, stamp(1, device=neighbours.owner.who.device))
    lost["fields"] |= written({"food": "ate"}, stamp(2, device="nobodys0"))
    assert verdicts(engine, helper, lost, brought_back=True) == ["taken"]
    later = written({"mouth": "smaller", "note": "anew", "food": "spat"}, stamp(5))
    push(engine, keeper, [{**lost, "fields": later}])
    assert {(field, author) for field, _, _, author in history(engine, lost["id"])} == {
        ("mouth", keeper.person_id),
        ("note", neighbours.owner.who.person_id),
        ("food", helper.person_id),
    }


def test_a_helper_brings_back_a_keepers_tank_and_writes_none_of_his_own(engine, keeper, helper):
    tank = {**added(keeper, "tank", name="Bay"), "held": True}
    assert verdicts(engine, helper, tank, brought_back=True) == ["taken"]
    own = edited({**tank, "held": False}, stamp(9), stamp(), name="Cove")
    assert "cannot write a tank" in refusal(engine, helper, own, brought_back=True)
    assert "cannot write a tank" in refusal(engine, helper, added(helper, "tank"), brought_back=True)
    assert "cannot write a tank" in refusal(engine, helper, edited(tank, stamp(9), stamp(), name="Cove"))


@pytest.mark.parametrize("other", [{"kind": "feeding"}, {"device": "zz99zz99"}])
def test_what_a_record_is_stays_fixed(engine, keeper, other):
    made = added(keeper, "look")
    push(engine, keeper, [made])
    assert "fixed" in refusal(engine, keeper, {**made, **other})


def test_who_wrote_a_record_stays_fixed(engine, keeper, helper):
    made = added(keeper, "look")
    push(engine, keeper, [made])
    assert "fixed" in refusal(engine, helper, {**made, "author": helper.person_id})


def test_a_clock_up_to_five_minutes_ahead_is_taken_and_one_further_ahead_is_to_try_again(engine, keeper):
    near = added(keeper, "look", ahead())
    far = added(keeper, "look", ahead(milliseconds=1))
    year = added(keeper, "look", ahead(days=365))
    agreement = push(engine, keeper, [near, far, year])
    assert [verdict.verdict for verdict in agreement.verdicts] == ["taken", "clock", "clock"]
    assert set(rows(engine, keeper)) == {near["id"]}
    assert verdicts(engine, keeper, far, now=START + timedelta(minutes=1)) == ["taken"]


def test_a_clock_that_is_years_behind_is_no_reason_to_refuse(engine, keeper):
    assert verdicts(engine, keeper, added(keeper, "look", "0000000000001.0000.ab12cd34")) == ["taken"]


def test_fields_of_a_newer_client_are_put_off_and_the_others_taken(engine, keeper):
    made = added(keeper, "look", mouth="full", gill_rate=80)
    (verdict,) = push(engine, keeper, [made], schema=NEWER).verdicts
    assert (verdict.verdict, verdict.fields) == ("later", ("gill_rate",))
    assert values(rows(engine, keeper)[made["id"]]) == {"mouth": "full"}


def test_a_kind_of_a_newer_client_is_put_off_whole(engine, keeper):
    (verdict,) = push(engine, keeper, [added(keeper, "wish", note="blue", colour="red")], schema=NEWER).verdicts
    assert (verdict.verdict, verdict.fields) == ("later", ("colour", "note"))
    assert rows(engine, keeper) == {}


def test_unknown_kinds_and_fields_of_a_client_of_this_age_are_a_mistake(engine, keeper):
    assert "no records of the kind 'wish'" in refusal(engine, keeper, added(keeper, "wish"))
    assert "no field gill_rate" in refusal(engine, keeper, added(keeper, "look", gill_rate=80))


def test_a_newer_client_is_not_excused_from_right_values(engine, keeper):
    wrong = added(keeper, "look", at_error_min=-1, gill_rate=80)
    assert "must be between" in refusal(engine, keeper, wrong, schema=NEWER)


def test_a_word_that_a_newer_client_has_for_a_field_of_ours_waits_and_its_faults_do_not(engine, keeper):
    made = added(keeper, "mark", what="postponed", duty="catch")
    verdict = push(engine, keeper, [made], schema=NEWER).verdicts[0]
    assert (verdict.verdict, verdict.fields) == ("later", ("what",))
    assert values(rows(engine, keeper)[made["id"]]) == {"duty": "catch"}
    assert "what: must be one of" in refusal(engine, keeper, added(keeper, "mark", what="postponed"))
    for wrong in ({"what": 7}, {"what": "postponed", "eggs": -1}, {"what": "post\x00poned"}, {"what": "x" * 17_000}):
        assert refusal(engine, keeper, added(keeper, "mark", **wrong), schema=NEWER)


def test_a_look_cannot_lie_before_its_brood_began(engine, keeper, brood):
    early = added(keeper, "look", about=brood["id"], at="2026-11-19T23:59:00.000Z")
    reason = refusal(engine, keeper, early)
    assert "before the brood began (2026-11-20T00:00:00.000Z)" in reason
    assert "Correct its time" in reason
    on_time = added(keeper, "look", about=brood["id"], at="2026-11-20T01:00:00+01:00")
    assert verdicts(engine, keeper, on_time) == ["taken"]


def test_a_look_cannot_be_moved_to_before_its_brood_began(engine, keeper, brood):
    look = added(keeper, "look", about=brood["id"], at="2026-11-21T20:00:00.000Z")
    push(engine, keeper, [look])
    moved = edited(look, stamp(5), stamp(0), at="2026-11-19T20:00:00.000Z")
    assert "before the brood began" in refusal(engine, keeper, moved)
    assert verdicts(engine, keeper, edited(look, stamp(5), stamp(0), note="no matter")) == ["taken"]


def test_a_look_cannot_be_moved_to_a_brood_that_began_later(engine, keeper, brood):
    look = added(keeper, "look", at="2026-11-19T20:00:00.000Z")
    push(engine, keeper, [look])
    moved = edited(look, stamp(5), None, about=brood["id"])
    assert "before the brood began" in refusal(engine, keeper, moved)


def test_a_look_that_comes_with_its_brood_is_judged_by_it(engine, keeper):
    brood = added(keeper, "brood", not_before="2026-11-20T00:00:00.000Z")
    early = added(keeper, "look", about=brood["id"], at="2026-11-19T20:00:00.000Z")
    assert verdicts(engine, keeper, brood, early) == ["taken", "refused"]


def test_a_look_that_comes_before_its_brood_is_taken_and_stays(engine, keeper):
    brood = added(keeper, "brood", not_before="2026-11-20T00:00:00.000Z")
    early = added(keeper, "look", about=brood["id"], at="2026-11-19T20:00:00.000Z")
    assert verdicts(engine, keeper, early, brood) == ["taken", "taken"]
    assert early["id"] in rows(engine, keeper)


def test_a_brood_of_another_household_says_nothing_about_ours(engine, neighbours, keeper, brood):
    stranger = neighbours.stranger.who
    look = added(stranger, "look", about=brood["id"], at="2026-11-19T20:00:00.000Z")
    assert verdicts(engine, stranger, look) == ["taken"]


@pytest.mark.parametrize(
    ("bad", "says"),
    [
        (None, "must be an object"),
        ([], "must be an object"),
        ({}, "id must be"),
        ({"id": "017f22e2-79b0-4cc3-98c4-dc0c0c07398f"}, "id must be"),
        ({"id": 7}, "id must be"),
        ({"kind": None}, "kind"),
        ({"kind": "lo\x00ok"}, "kind"),
        ({"kind": ["look"]}, "kind"),
        ({"author": {}}, "author"),
        ({"author": "x" * 61}, "author"),
        ({"device": "AB12CD34"}, "device"),
        ({"device": "ab12cd34\n"}, "device"),
        ({"seen": "3"}, "seen"),
        ({"seen": True}, "seen"),
        ({"seen": -1}, "seen"),
        ({"seen": 1.5}, "seen"),
        ({"seen": 10**30}, "seen"),
        ({"fields": None}, "1 to 40 fields"),
        ({"fields": {}}, "1 to 40 fields"),
        ({"fields": []}, "1 to 40 fields"),
        ({"fields": written(dict.fromkeys(map(str, range(41))), stamp())}, "1 to 40 fields"),
        ({"fields": {"note": "bare"}}, "'note' must be an object"),
        ({"fields": {"note": {"stamp": stamp()}}}, "'note' must be an object"),
        ({"fields": {"": {"value": 1, "stamp": stamp()}}}, "plain name"),
        ({"fields": {"no\x00te": {"value": 1, "stamp": stamp()}}}, "plain name"),
        ({"fields": {"note": {"value": "x"}}}, "no stamp"),
        ({"fields": {"note": {"value": "x", "stamp": "now"}}}, "no stamp"),
        ({"fields": {"note": {"value": "x", "stamp": stamp(), "was": 3}}}, "no stamp"),
        ({"fields": written({"note": {"deep": {"er": 1}}}, stamp())}, "plain value"),
        ({"fields": written({"note": ["x"]}, stamp())}, "plain value"),
        ({"fields": written({"note": "\ud800"}, stamp())}, "cannot be stored"),
        ({"fields": written({"note": float("nan")}, stamp())}, "cannot be stored"),
        ({"fields": written({"note": float("inf")}, stamp())}, "cannot be stored"),
        ({"fields": written({"note": "x" * 17_000}, stamp())}, "longer than 16384 characters"),
        ({"fields": written({"about": "\x00"}, stamp())}, "about holds a value that cannot be stored"),
        ({"values": None}, "1 to 40 fields"),
        ({"values": []}, "1 to 40 fields"),
        ({"values": {}}, "1 to 40 fields"),
        ({"values": dict.fromkeys(map(str, range(41))), "stamp": stamp()}, "1 to 40 fields"),
        ({"values": {"note": "x"}}, "no stamp"),
        ({"values": {"note": "x"}, "stamp": [stamp()]}, "no stamp"),
        ({"values": {"": "x"}, "stamp": stamp()}, "plain name"),
        ({"values": {"note": {"value": "x"}}, "stamp": stamp()}, "plain value"),
        ({"values": {"note": "\ud800"}, "stamp": stamp()}, "cannot be stored"),
        ({"values": {"note": "x"}, "stamp": stamp(), "was": []}, "named by its fields"),
        ({"values": {"note": "x"}, "stamp": stamp(), "was": {"mouth": stamp()}}, "named by its fields"),
        ({"values": {"note": "x"}, "stamp": stamp(), "was": {"note": None}}, "no stamp"),
    ],
    ids=lambda value: str(value)[:40].encode("unicode_escape").decode(),
)
def test_a_change_of_a_wrong_shape_is_refused_by_itself_with_a_reason(engine, keeper, bad, says):
    whole = {**added(keeper, "look"), **bad} if isinstance(bad, dict) and bad else bad
    good = added(keeper, "look")
    agreement = push(engine, keeper, [whole, good])
    refused, taken = agreement.verdicts
    assert (refused.verdict, taken.verdict) == ("refused", "taken")
    assert says in refused.reason
    assert refused.reason.isprintable()
    assert len(refused.reason) < 400
    assert set(rows(engine, keeper)) == {good["id"]}


def test_a_name_that_means_something_to_a_browser_is_no_field(engine, keeper):
    for name in ("__proto__", "constructor", "toString"):
        assert f"no field {name}" in refusal(engine, keeper, added(keeper, "look", **{name: 1}))


def test_an_id_is_told_back_only_where_it_is_one(engine, keeper):
    known = new_id()
    agreement = push(engine, keeper, [{"id": "x" * 9000}, {"id": known}, {"id": "\ud800"}])
    assert [verdict.id for verdict in agreement.verdicts] == [None, known, None]
