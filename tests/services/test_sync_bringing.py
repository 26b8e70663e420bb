"""What phones bring back after a restore: whose it is, what it was, and that no question is asked twice."""

from __future__ import annotations

from datetime import timedelta

import pytest

from holdwatch.records.instants import instant_text, milliseconds
from holdwatch.records.stamps import Stamp
from holdwatch.services.derived import put_derived
from holdwatch.store.database import writing
from people import START
from sync.pushing import added, edited, history, push, rows, stamp, verdicts, written

HOUR = timedelta(hours=1)


@pytest.fixture
def owner(neighbours):
    return neighbours.owner.who


@pytest.fixture
def keeper(neighbours):
    return neighbours.keeper.who


@pytest.fixture
def helper(neighbours):
    return neighbours.helper.who


@pytest.fixture
def look(engine, owner):
    """As the copy has it: the note of the first minute."""
    made = added(owner, "look", stamp(0), note="first")
    push(engine, owner, [made])
    return made


def held(record, by, **fields):
    """All that a phone held of the record, as it was when the server was set back."""
    return {**record, "fields": written(fields, by), "held": True}


def brought(engine, who, change):
    assert verdicts(engine, who, change, brought_back=True) == ["taken"]


def stands(engine, who, record):
    row = rows(engine, who)[record["id"]]
    return row["fields"]["note"]["value"], row["concurrent"]


@pytest.mark.parametrize("order", [(2, 3), (3, 2)])
def test_phones_that_had_come_to_different_points_ask_nobody_who_was_right(
    engine, owner, keeper, helper, look, order
):
    for minute in order:
        brought(engine, keeper, held(look, stamp(minute, device=f"phone00{minute}"), note=f"of minute {minute}"))
    assert stands(engine, owner, look) == ("of minute 3", [])
    assert [value for _, _, value, _ in history(engine, look["id"])] == ["first", "of minute 2"]


def test_what_somebody_wrote_since_without_it_is_for_both_to_settle(engine, owner, keeper, helper, look):
    push(engine, owner, [edited(look, stamp(9, device="phone009"), stamp(0), note="after the restore")])
    brought(engine, keeper, held(look, stamp(3, device="phone003"), note="lost till now"))
    assert stands(engine, owner, look) == ("after the restore", ["note"])
    assert ("note", stamp(3, device="phone003"), "lost till now") in {one[:3] for one in history(engine, look["id"])}


def test_what_was_never_sent_is_a_new_writing_and_meets_what_was_brought_back(engine, owner, keeper, helper, look):
    brought(engine, keeper, held(look, stamp(5, device="phone005"), note="brought back"))
    waiting = edited(look, stamp(3, device="phone003"), stamp(0), note="never sent")
    brought(engine, helper, waiting)
    assert stands(engine, owner, look) == ("brought back", ["note"])


def test_it_may_be_brought_by_many_and_many_times(engine, owner, keeper, helper, look):
    change = held(look, stamp(5, device="phone005"), note="brought back")
    for who in (keeper, helper, keeper):
        brought(engine, who, change)
    revision = rows(engine, owner)[look["id"]]["revision"]
    brought(engine, owner, change)
    assert rows(engine, owner)[look["id"]]["revision"] == revision
    assert len(history(engine, look["id"])) == 1


def test_a_word_of_having_held_it_changes_nothing_of_an_ordinary_push(engine, owner, keeper, look):
    push(engine, owner, [edited(look, stamp(5, device="phone005"), stamp(0), note="one")])
    assert verdicts(engine, keeper, held(look, stamp(6, device="phone006"), note="two")) == ["taken"]
    assert stands(engine, owner, look) == ("two", ["note"])


def test_revisions_that_were_lost_say_nothing_of_those_that_were_counted_since(engine, owner, keeper, look):
    push(engine, owner, [edited(look, stamp(3, device="phone003"), stamp(0), note="since the restore")])
    lost = stamp(2, device="phone002")
    brought(engine, keeper, edited(look, stamp(5, device="phone005"), lost, 500, note="over what was lost"))
    assert stands(engine, owner, look) == ("over what was lost", ["note"])


def test_a_writing_later_than_the_restore_was_not_held_whoever_says_so(engine, owner, keeper, helper, look):
    """Else a helper who names an earlier epoch could overrule a keeper unmarked, and in his name."""
    with writing(engine) as db:
        put_derived(db, owner.household_id, "set_back", None, {"at": instant_text(START - HOUR), "ends_at": None})
    push(engine, owner, [edited(look, stamp(9, device="phone009"), stamp(0), note="of the keeper")])
    late = str(Stamp(milliseconds(START), 0, "phone003"))
    brought(engine, helper, held(look, late, note="forged"))
    assert stands(engine, owner, look) == ("forged", ["note"])
