"""What becomes of changes that meet: taken once, never lost, never overruled in silence."""

from __future__ import annotations

import pytest

from holdwatch.services.access import SignedOut
from holdwatch.services.sync import Push, agree
from holdwatch.store import tables
from holdwatch.store.database import reading, writing
from people import START
from sync.pushing import (
    added,
    edited,
    history,
    household_tables,
    new_id,
    push,
    rows,
    said_once,
    stamp,
    values,
    verdicts,
)


@pytest.fixture
def keeper(neighbours):
    return neighbours.keeper.who


@pytest.fixture
def owner(neighbours):
    return neighbours.owner.who


@pytest.fixture
def look(engine, keeper):
    """A look that the keeper added and every phone has."""
    made = added(keeper, "look", stamp(0), mouth="full", at="2026-11-25T18:10:00.000Z")
    assert verdicts(engine, keeper, made) == ["taken"]
    return made


def test_a_new_record_is_taken_and_comes_down_as_it_was_written(engine, keeper):
    made = added(keeper, "look", stamp(0), mouth="full", note="by the left urchin")
    agreement = push(engine, keeper, [made])
    assert [verdict.verdict for verdict in agreement.verdicts] == ["taken"]
    (row,) = agreement.page.rows
    assert {name: row[name] for name in ("id", "kind", "author", "device")} == {
        name: made[name] for name in ("id", "kind", "author", "device")
    }
    assert row["fields"]["mouth"] == {"value": "full", "stamp": stamp(0)}
    assert row["concurrent"] == []
    assert agreement.page.cursor == row["revision"]


def test_values_of_one_stamp_are_taken_as_if_each_had_named_it(engine, keeper):
    whole = added(keeper, "look", stamp(5), mouth="full", tails="seen", food="ate")
    told = {**said_once(whole), "id": new_id()}
    assert verdicts(engine, keeper, whole, told) == ["taken", "taken"]
    one, other = (rows(engine, keeper)[record["id"]] for record in (whole, told))
    assert one["fields"] == other["fields"]


def test_an_edit_of_one_stamp_says_what_it_replaced_field_by_field(engine, owner, keeper, look):
    known = edited(look, stamp(5, device="zz99zz99"), stamp(), mouth="smaller", food="ate")
    told = said_once(known) | {"was": {"mouth": stamp()}}
    assert verdicts(engine, owner, told) == ["taken"]
    assert rows(engine, keeper)[look["id"]]["concurrent"] == []
    assert history(engine, look["id"]) == [("mouth", stamp(), "full", keeper.person_id)]


def test_newer_clients_are_told_the_stamp_of_most_values_once_and_the_others_by_name(engine, owner, keeper, look):
    push(engine, owner, [edited(look, stamp(5), stamp(), mouth="smaller")])
    (whole,) = rows(engine, keeper).values()
    with reading(engine) as db:
        (lean,) = agree(db, keeper, Push([], 0, 2, False), START).page.rows
    assert {name: field["value"] for name, field in whole["fields"].items()} == lean["values"]
    stamps = dict.fromkeys(lean["values"], lean["stamp"]) | lean["stamps"]
    assert {name: field["stamp"] for name, field in whole["fields"].items()} == stamps
    assert "mouth" in lean["stamps"] or len(lean["stamps"]) == len(stamps) - 1


def test_a_change_that_is_sent_again_changes_nothing_at_all(engine, keeper, look):
    before = household_tables(engine)
    assert verdicts(engine, keeper, look, look) == ["taken", "taken"]
    assert household_tables(engine) == before


def test_each_record_that_a_push_touches_gets_a_revision_of_its_own(engine, keeper):
    looks = [added(keeper, "look", stamp(n)) for n in range(7)]
    push(engine, keeper, looks)
    revisions = [row["revision"] for row in rows(engine, keeper).values()]
    assert len(set(revisions)) == 7


def test_an_edit_that_knew_what_it_replaced_is_not_marked_and_what_it_replaced_is_kept(engine, owner, keeper, look):
    assert verdicts(engine, owner, edited(look, stamp(5, device="zz99zz99"), stamp(0), mouth="smaller")) == ["taken"]
    row = rows(engine, keeper)[look["id"]]
    assert (values(row)["mouth"], row["concurrent"]) == ("smaller", [])
    assert history(engine, look["id"]) == [("mouth", stamp(0), "full", keeper.person_id)]


def test_two_edits_that_did_not_know_of_each_other_are_marked_and_the_earlier_one_is_kept(engine, owner, keeper, look):
    mine = edited(look, stamp(5), stamp(0), mouth="smaller")
    theirs = edited(look, stamp(9, device="zz99zz99"), stamp(0), mouth="normal")
    for who, change in ((keeper, mine), (owner, theirs)):
        assert verdicts(engine, who, change) == ["taken"]
    row = rows(engine, keeper)[look["id"]]
    assert (values(row)["mouth"], row["concurrent"]) == ("normal", ["mouth"])
    assert ("mouth", stamp(5), "smaller", keeper.person_id) in history(engine, look["id"])


def test_an_edit_that_comes_in_late_and_loses_is_marked_and_kept_with_its_author(engine, owner, keeper, look):
    push(engine, owner, [edited(look, stamp(9, device="zz99zz99"), stamp(0), mouth="normal")])
    assert verdicts(engine, keeper, edited(look, stamp(5), stamp(0), mouth="smaller")) == ["taken"]
    row = rows(engine, keeper)[look["id"]]
    assert (values(row)["mouth"], row["concurrent"]) == ("normal", ["mouth"])
    assert ("mouth", stamp(5), "smaller", keeper.person_id) in history(engine, look["id"])


def test_different_fields_of_one_record_do_not_disturb_each_other(engine, owner, keeper, look):
    push(engine, owner, [edited(look, stamp(9, device="zz99zz99"), None, food="ate")])
    push(engine, keeper, [edited(look, stamp(5), stamp(0), mouth="smaller")])
    row = rows(engine, keeper)[look["id"]]
    assert (values(row)["food"], values(row)["mouth"], row["concurrent"]) == ("ate", "smaller", [])


def test_a_phone_that_wrote_twice_without_seeing_the_other_does_not_settle_the_matter(engine, owner, keeper, look):
    push(engine, owner, [edited(look, stamp(4, device="zz99zz99"), stamp(0), mouth="normal")])
    first = edited(look, stamp(5), stamp(0), 2, mouth="smaller")
    second = edited(look, stamp(6), stamp(5), 2, mouth="full")
    for batch in ([first, second], [second]):
        push(engine, keeper, batch)
        assert rows(engine, keeper)[look["id"]]["concurrent"] == ["mouth"]


def test_a_second_write_that_was_on_its_way_does_not_settle_the_matter_either(engine, owner, keeper, look):
    push(engine, owner, [edited(look, stamp(4, device="zz99zz99"), stamp(0), mouth="normal")])
    before = rows(engine, keeper)[look["id"]]["revision"] - 1
    push(engine, keeper, [edited(look, stamp(5), stamp(0), before, mouth="smaller")])
    push(engine, keeper, [edited(look, stamp(6), stamp(5), before, mouth="full")])
    assert rows(engine, keeper)[look["id"]]["concurrent"] == ["mouth"]


def test_whoever_saw_the_mark_and_writes_again_settles_the_matter(engine, owner, keeper, look):
    push(engine, owner, [edited(look, stamp(4, device="zz99zz99"), stamp(0), mouth="normal")])
    push(engine, keeper, [edited(look, stamp(5), stamp(0), mouth="smaller")])
    row = rows(engine, keeper)[look["id"]]
    push(engine, owner, [edited(look, stamp(6, device="zz99zz99"), stamp(5), row["revision"], mouth="normal")])
    row = rows(engine, keeper)[look["id"]]
    assert (values(row)["mouth"], row["concurrent"]) == ("normal", [])
    assert [entry[1] for entry in history(engine, look["id"])] == [
        stamp(0),
        stamp(4, device="zz99zz99"),
        stamp(5),
    ]


def test_an_edit_that_followed_on_a_refused_one_is_not_marked_if_its_writer_saw_what_stands(
    engine, owner, keeper, look
):
    push(engine, owner, [edited(look, stamp(4, device="zz99zz99"), stamp(0), note="by the left urchin")])
    seen = rows(engine, keeper)[look["id"]]["revision"]
    push(engine, owner, [edited(look, stamp(5, device="zz99zz99"), None, food="ate")])
    refused = edited(look, stamp(6), stamp(4, device="zz99zz99"), seen, note="x" * 3000)
    mended = edited(look, stamp(7), stamp(6), seen, note="by the right urchin")
    assert verdicts(engine, keeper, refused, mended) == ["refused", "taken"]
    row = rows(engine, keeper)[look["id"]]
    assert (values(row)["note"], row["concurrent"]) == ("by the right urchin", [])


def test_a_new_disagreement_after_that_is_marked_anew(engine, owner, keeper, look):
    push(engine, owner, [edited(look, stamp(4, device="zz99zz99"), stamp(0), mouth="normal")])
    push(engine, keeper, [edited(look, stamp(5), stamp(0), mouth="smaller")])
    seen = rows(engine, keeper)[look["id"]]["revision"]
    push(engine, owner, [edited(look, stamp(6, device="zz99zz99"), stamp(5), seen, mouth="normal")])
    push(engine, keeper, [edited(look, stamp(7), stamp(5), seen, mouth="full")])
    assert rows(engine, keeper)[look["id"]]["concurrent"] == ["mouth"]


def test_a_message_that_is_repeated_late_is_no_new_edit(engine, owner, keeper, look):
    second = edited(look, stamp(5), stamp(0), mouth="smaller")
    third = edited(look, stamp(9), stamp(5), mouth="normal")
    push(engine, keeper, [second, third])
    before = household_tables(engine)
    for late in (look, second, third):
        assert verdicts(engine, keeper, late) == ["taken"]
    assert household_tables(engine) == before


def test_a_message_repeated_within_one_push_is_no_new_edit(engine, keeper, look):
    second = edited(look, stamp(5), stamp(0), mouth="smaller")
    third = edited(look, stamp(9), stamp(5), mouth="normal")
    push(engine, keeper, [second, third, look, second])
    row = rows(engine, keeper)[look["id"]]
    assert (values(row)["mouth"], row["concurrent"]) == ("normal", [])
    assert [entry[2] for entry in history(engine, look["id"])] == ["full", "smaller"]


@pytest.mark.parametrize("order", [("a", "b", "c"), ("b", "a", "c"), ("c", "a", "b"), ("a", "c", "b"), ("b", "c", "a")])
def test_a_broken_device_that_uses_a_stamp_twice_loses_neither_value_in_whatever_order(engine, keeper, look, order):
    sent = {
        "a": edited(look, stamp(5), stamp(0), note="one"),
        "b": edited(look, stamp(5), stamp(0), note="two"),
        "c": edited(look, stamp(9), stamp(5), note="three"),
    }
    for name in order:
        push(engine, keeper, [sent[name]])
    assert values(rows(engine, keeper)[look["id"]])["note"] == "three"
    assert sorted(entry[2] for entry in history(engine, look["id"])) == ["one", "two"]


def test_two_stamps_in_one_millisecond_are_told_apart_by_counter_and_device(engine, owner, keeper, look):
    push(
        engine,
        keeper,
        [edited(look, stamp(5, 1), stamp(0), note="mine"), edited(look, stamp(5, 2), stamp(5, 1), note="mine again")],
    )
    push(engine, owner, [edited(look, stamp(5, 2, "zz99zz99"), None, note="theirs")])
    row = rows(engine, keeper)[look["id"]]
    assert values(row)["note"] == "theirs"
    assert [entry[2] for entry in history(engine, look["id"])] == ["mine", "mine again"]


def test_a_record_taken_away_can_be_brought_back_and_its_fields_are_all_there(engine, owner, keeper, look):
    push(engine, owner, [edited(look, stamp(5), None, gone=True)])
    assert values(rows(engine, keeper)[look["id"]]) == {**values(look), "gone": True}
    push(engine, owner, [edited(look, stamp(6), stamp(5), gone=False)])
    assert values(rows(engine, keeper)[look["id"]]) == {**values(look), "gone": False}


def test_a_record_may_belong_to_one_that_is_not_known_yet(engine, keeper):
    tank, fish, brood = (added(keeper, kind) for kind in ("tank", "fish", "brood"))
    look = added(keeper, "look", about=brood["id"], mouth="full", at="2026-11-25T18:10:00.000Z")
    brood["fields"] |= added(keeper, "brood", about=fish["id"])["fields"]
    fish["fields"] |= added(keeper, "fish", about=tank["id"])["fields"]
    for change in (look, brood, fish, tank):
        assert verdicts(engine, keeper, change) == ["taken"]
    assert set(rows(engine, keeper)) == {change["id"] for change in (tank, fish, brood, look)}


def test_one_bad_change_does_not_hold_up_the_others_and_verdicts_stand_in_their_order(engine, keeper):
    good = [added(keeper, "look", stamp(n)) for n in range(3)]
    bad = added(keeper, "reading", temperature_c=77)
    assert verdicts(engine, keeper, good[0], "nonsense", good[1], bad, good[2]) == [
        "taken",
        "refused",
        "taken",
        "refused",
        "taken",
    ]
    assert set(rows(engine, keeper)) == {change["id"] for change in good}


def test_nothing_of_a_refused_change_is_kept_and_a_mended_one_is_taken(engine, keeper):
    bad = added(keeper, "reading", temperature_c=77, note="top of the tank")
    before = household_tables(engine)
    assert verdicts(engine, keeper, bad) == ["refused"]
    assert household_tables(engine) == before
    mended = edited(bad, stamp(5), None, temperature_c=27, note="top of the tank")
    assert verdicts(engine, keeper, mended) == ["taken"]
    assert values(rows(engine, keeper)[bad["id"]]) == {"temperature_c": 27, "note": "top of the tank"}


def test_the_same_id_in_two_households_is_two_records_and_neither_sees_the_other(engine, neighbours, keeper, look):
    stranger = neighbours.stranger.who
    theirs = {**look, "author": stranger.person_id}
    before = rows(engine, keeper)
    assert verdicts(engine, stranger, theirs) == ["taken"]
    assert rows(engine, keeper) == before
    assert list(rows(engine, stranger)) == [look["id"]]
    assert rows(engine, stranger)[look["id"]]["author"] == stranger.person_id


def test_a_session_that_ended_while_the_push_was_on_its_way_writes_nothing(engine, keeper):
    before = household_tables(engine)
    with writing(engine) as db:
        db.execute(tables.device_session.update().values(revoked_at=1))
    with pytest.raises(SignedOut):
        push(engine, keeper, [added(keeper, "look")])
    assert household_tables(engine) == before


def test_a_role_that_changed_while_the_push_was_on_its_way_judges_it(engine, keeper):
    assert keeper.role == "keeper"
    with writing(engine) as db:
        person = tables.person
        db.execute(person.update().where(person.c.person_id == keeper.person_id).values(role="helper"))
    assert verdicts(engine, keeper, added(keeper, "tank"), added(keeper, "look")) == ["refused", "taken"]


def test_the_longest_word_of_any_script_is_kept_when_it_is_replaced(engine, keeper, look):
    # Of the rarer signs of a great script no two are alike, and nothing of it can be packed.
    note = "".join(chr(0x20000 + 7 * number % 40_000) for number in range(2000))
    assert verdicts(engine, keeper, edited(look, stamp(1), None, note=note)) == ["taken"]
    assert verdicts(engine, keeper, edited(look, stamp(2), stamp(1), note="short")) == ["taken"]
    assert ("note", stamp(1), note) in {one[:3] for one in history(engine, look["id"])}
