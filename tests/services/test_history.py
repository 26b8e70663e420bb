"""What a record's fields were before: told with who wrote it, when, on which phone, and what replaced it."""

from __future__ import annotations

from typing import Any

import pytest
import sqlalchemy as sa

from holdwatch.records.merge import Stamped
from holdwatch.services import access, history
from holdwatch.services.access import Who
from holdwatch.services.history import reading as reading_history
from holdwatch.services.history.told import knew_nothing
from holdwatch.store import tables
from holdwatch.store.database import reading, writing
from people import START
from sync.pushing import HOUR_MS, added, edited, new_id, push, stamp, verdicts

KITCHEN, OTHER = "ab12cd34", "zz99zz99"


@pytest.fixture
def keeper(neighbours):
    return neighbours.keeper.who


@pytest.fixture
def owner(neighbours):
    return neighbours.owner.who


@pytest.fixture
def tank(engine, owner):
    """A tank that the owner added."""
    made = added(owner, "tank", stamp(0), name="Hall", lamps_out="21:30")
    assert verdicts(engine, owner, made) == ["taken"]
    return made


def told(engine: sa.Engine, who: Who, record: dict[str, Any], first: int = 0) -> history.History:
    with reading(engine) as db:
        return history.record_history(db, who.household_id, record["id"], first)


def field(engine: sa.Engine, who: Who, record: dict[str, Any], name: str) -> history.FieldHistory:
    (only,) = told(engine, who, record).records
    return next(one for one in only.fields if one.name == name)


def name_phone(engine: sa.Engine, who: Who, device: str, label: str) -> None:
    """Let the phone of that session have the device's name."""
    with writing(engine) as db:
        mine = tables.device_session.c.session_id == who.session_id
        db.execute(sa.update(tables.device_session).where(mine).values(device=device, label=label))


def test_a_field_that_was_never_replaced_is_told_as_it_stands(engine, owner, tank):
    name_phone(engine, owner, KITCHEN, "Firefox on Android")
    name = field(engine, owner, tank, "name")
    assert (name.stands.value, name.stands.name, name.stands.phone) == ("Hall", "Ilka", "Firefox on Android")
    assert (name.stands.by, name.stands.stamp, name.earlier) == (owner.person_id, stamp(0), [])


def test_a_replaced_value_says_who_wrote_it_when_where_and_what_replaced_it(engine, owner, keeper, tank):
    name_phone(engine, owner, KITCHEN, "Firefox on Android")
    name_phone(engine, keeper, OTHER, "Safari on iPhone")
    later = edited(tank, stamp(HOUR_MS, device=OTHER), stamp(0), lamps_out="22:00")
    assert verdicts(engine, keeper, later) == ["taken"]
    lamps = field(engine, owner, tank, "lamps_out")
    (was,) = lamps.earlier
    assert (was.value, was.name, was.phone, was.apart) == ("21:30", "Ilka", "Firefox on Android", False)
    assert (was.at - START).total_seconds() == -7200
    by = was.replaced_by
    assert (by.value, by.name, by.phone) == ("22:00", "Tamsin", "Safari on iPhone")
    assert by == lamps.stands


def test_each_value_names_the_one_that_followed_on_it(engine, owner, tank):
    for number, hour in enumerate(("22:00", "22:30", "23:00"), start=1):
        push(engine, owner, [edited(tank, stamp(number), stamp(number - 1), lamps_out=hour)])
    earlier = field(engine, owner, tank, "lamps_out").earlier
    assert [(one.value, one.replaced_by.value) for one in earlier] == [
        ("22:30", "23:00"),
        ("22:00", "22:30"),
        ("21:30", "22:00"),
    ]


def test_what_was_overruled_by_an_edit_that_did_not_know_of_it_says_so(engine, owner, keeper, tank):
    push(engine, keeper, [edited(tank, stamp(9, device=OTHER), stamp(0), lamps_out="22:00")])
    push(engine, owner, [edited(tank, stamp(5), stamp(0), lamps_out="21:00")])
    (record,) = told(engine, owner, tank).records
    lamps = field(engine, owner, tank, "lamps_out")
    assert record.concurrent == ["lamps_out"]
    assert [(one.value, one.apart, one.replaced_by.value) for one in lamps.earlier] == [
        ("21:00", True, "22:00"),
        ("21:30", False, "21:00"),
    ]


def test_after_the_matter_is_settled_it_still_tells_that_they_were_written_apart(engine, owner, keeper, tank):
    push(engine, keeper, [edited(tank, stamp(9, device=OTHER), stamp(0), lamps_out="22:00")])
    agreement = push(engine, owner, [edited(tank, stamp(5), stamp(0), lamps_out="21:00")])
    seen = max(row["revision"] for row in agreement.page.rows)
    push(engine, owner, [edited(tank, stamp(12), stamp(9, device=OTHER), seen, lamps_out="21:00")])
    (record,) = told(engine, owner, tank).records
    lamps = field(engine, owner, tank, "lamps_out")
    assert (record.concurrent, lamps.stands.value) == ([], "21:00")
    assert [(one.value, one.apart) for one in lamps.earlier] == [("22:00", False), ("21:00", True), ("21:30", False)]


@pytest.mark.parametrize(
    "was, device, blind",
    [
        (stamp(0), OTHER, True),
        (None, OTHER, True),
        (stamp(5), OTHER, False),
        (stamp(0), KITCHEN, False),
        # It followed on a writing of its own that was refused: what its writer had seen before is not known.
        (stamp(7, device=OTHER), OTHER, False),
    ],
)
def test_whether_a_writing_knew_of_the_one_before(was, device, blind):
    assert knew_nothing(Stamped("b", stamp(9, device=device), was), Stamped("a", stamp(5))) is blind


def test_a_mark_whose_grounds_are_not_kept_points_at_what_was_replaced_last(engine, owner, keeper, tank):
    push(engine, owner, [edited(tank, stamp(5), stamp(0), lamps_out="21:00")])
    refused = stamp(7, device=OTHER)
    push(engine, keeper, [edited(tank, stamp(9, device=OTHER), refused, 1, lamps_out="22:00")])
    (record,) = told(engine, owner, tank).records
    lamps = field(engine, owner, tank, "lamps_out")
    assert record.concurrent == ["lamps_out"]
    assert [(one.value, one.apart) for one in lamps.earlier] == [("21:00", True), ("21:30", False)]


def test_somebody_who_was_removed_keeps_the_name(engine, owner, keeper, tank):
    push(engine, keeper, [edited(tank, stamp(9, device=OTHER), stamp(0), name="Bay")])
    push(engine, owner, [edited(tank, stamp(12), stamp(9, device=OTHER), name="Hall")])
    with writing(engine) as db:
        access.remove_person(db, owner, keeper.person_id, START)
    (latest, _) = field(engine, owner, tank, "name").earlier
    assert (latest.value, latest.name, latest.by) == ("Bay", "Tamsin", keeper.person_id)


def test_a_phone_that_two_people_share_and_one_that_nobody_knows(engine, owner, keeper, tank):
    name_phone(engine, keeper, KITCHEN, "Chrome on Android")
    push(engine, owner, [edited(tank, stamp(1, device=OTHER), stamp(0), name="Bay")])
    name = field(engine, owner, tank, "name")
    assert (name.earlier[0].phone, name.stands.phone) == ("Chrome on Android", None)


def brood_with_all(engine: sa.Engine, who: Who) -> tuple[dict[str, Any], ...]:
    brood = added(who, "brood", stamp(0), about=new_id(), not_before="2026-11-05T23:00:00.000Z")
    look = added(who, "look", stamp(1), about=brood["id"], at="2026-11-25T18:10:00.000Z", mouth="full")
    mark = added(who, "mark", stamp(2), about=brood["id"], at="2026-11-25T18:10:00.000Z", what="courtship")
    other = added(who, "look", stamp(3), about=new_id(), mouth="full")
    assert verdicts(engine, who, brood, look, mark, other) == ["taken"] * 4
    return brood, look, mark, other


def of_brood(engine: sa.Engine, who: Who, brood: dict[str, Any], first: int = 0) -> history.History:
    with reading(engine) as db:
        return history.brood_history(db, who.household_id, brood["id"], first)


def test_a_brood_tells_what_was_replaced_in_it_and_in_all_about_it_and_nothing_else(engine, owner):
    brood, look, mark, other = brood_with_all(engine, owner)
    push(engine, owner, [edited(brood, stamp(10), stamp(0), ended="lost")])
    push(engine, owner, [edited(mark, stamp(11), stamp(2), what="spawning")])
    push(engine, owner, [edited(other, stamp(12), stamp(3), mouth="smaller")])
    push(engine, owner, [edited(look, stamp(13), stamp(1), mouth="smaller")])
    records = of_brood(engine, owner, brood).records
    # What was replaced last comes first; to end a brood for the first time replaces nothing.
    assert [(one.id, [name.name for name in one.fields]) for one in records] == [
        (look["id"], ["mouth"]),
        (mark["id"], ["what"]),
    ]


def test_a_look_that_was_moved_to_another_brood_is_told_with_the_one_it_left(engine, owner):
    brood, look, *_ = brood_with_all(engine, owner)
    elsewhere = new_id()
    push(engine, owner, [edited(look, stamp(10), stamp(1), about=elsewhere)])
    (record,) = of_brood(engine, owner, brood).records
    (about,) = record.fields
    assert (about.name, about.stands.value, [one.value for one in about.earlier]) == ("about", elsewhere, [brood["id"]])


def test_a_long_history_comes_in_pages_that_overlap_nowhere(engine, owner, tank, monkeypatch):
    monkeypatch.setattr(reading_history, "PAGE_WRITINGS", 3)
    for number in range(1, 8):
        push(engine, owner, [edited(tank, stamp(number), stamp(number - 1), name=f"Name {number}")])
    found, first = [], 0
    while first is not None:
        page = told(engine, owner, tank, first)
        found.append([one.value for record in page.records for name in record.fields for one in name.earlier])
        first = page.next
    assert found == [["Name 6", "Name 5", "Name 4"], ["Name 3", "Name 2", "Name 1"], ["Hall"]]


@pytest.mark.parametrize("ask", [history.record_history, history.brood_history])
def test_what_is_not_there_or_not_ones_own_is_not_found(engine, neighbours, tank, ask):
    own, strange = neighbours.owner.who.household_id, neighbours.stranger.who.household_id
    with reading(engine) as db:
        for household, record in ((strange, tank["id"]), (own, new_id())):
            with pytest.raises(history.NotFound):
                ask(db, household, record)


def test_a_tank_is_no_brood(engine, owner, tank):
    with reading(engine) as db, pytest.raises(history.NotFound, match="no such brood"):
        history.brood_history(db, owner.household_id, tank["id"])
