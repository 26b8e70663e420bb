"""What is above the cursor, page by page: everything once, in order, and from wherever a copy was cut off."""

from __future__ import annotations

import shutil

import pytest
import sqlalchemy as sa

from holdwatch.services.derived import put_derived
from holdwatch.services.sync import Push, agree
from holdwatch.services.sync.page import page_above
from holdwatch.store import tables
from holdwatch.store.database import open_database, reading, writing
from people import START, settle
from sync.pushing import added, edited, push, stamp

MANY = 10_000


def pages(db, who, cursor=0, rows=1000):
    """Every page above the cursor."""
    more = True
    while more:
        page = page_above(db, who.household_id, cursor, rows)
        yield page
        assert page.cursor > cursor or not page.more
        cursor, more = page.cursor, page.more


@pytest.fixture(scope="module")
def full(tmp_path_factory, migrated_database, password_hash):
    """A household with 10,000 records, pushed as a phone pushes them, and derived rows in between."""
    path = tmp_path_factory.mktemp("many") / "holdwatch.sqlite3"
    shutil.copy(migrated_database, path)
    engine = open_database(f"sqlite:///{path}")
    with writing(engine) as db:
        who = settle(db, password_hash, START).keeper.who
    for batch in range(MANY // 500):
        push(engine, who, [added(who, "look", stamp(batch * 500 + n), mouth="full") for n in range(500)], cursor=2**40)
        with writing(engine) as db:
            put_derived(db, who.household_id, "forecast", f"brood {batch}", {"batch": batch})
    yield engine, who
    engine.dispose()


def test_a_first_sync_of_ten_thousand_records_goes_in_pages_and_brings_each_once(full):
    engine, who = full
    with reading(engine) as db:
        all_pages = list(pages(db, who))
    revisions = [row["revision"] for page in all_pages for row in [*page.rows, *page.derived]]
    assert sum(len(page.rows) for page in all_pages) == MANY
    assert len(revisions) == len(set(revisions))
    assert all(len(page.rows) + len(page.derived) <= 1000 for page in all_pages)
    assert [page.more for page in all_pages] == [True] * (len(all_pages) - 1) + [False]
    ends = [page.cursor for page in all_pages]
    assert ends == sorted(ends)
    for before, page in zip([0, *ends], all_pages, strict=False):
        assert all(before < row["revision"] <= page.cursor for row in [*page.rows, *page.derived])


def test_a_page_that_was_lost_is_asked_for_again_from_the_same_cursor_and_is_the_same(full):
    engine, who = full
    cursor, more = 0, True
    while more:
        with reading(engine) as db:
            lost, page = (agree(db, who, Push([], cursor, 1, False), START).page for _ in range(2))
        assert lost == page
        cursor, more = page.cursor, page.more
    assert cursor >= MANY


def test_what_is_written_between_two_pages_comes_after_them(engine, neighbours):
    who = neighbours.keeper.who
    looks = [added(who, "look", stamp(n)) for n in range(4)]
    push(engine, who, looks)
    with reading(engine) as db:
        first = page_above(db, who.household_id, 0, 3)
    push(engine, who, [edited(looks[0], stamp(9), stamp(0), note="by the right urchin")])
    with reading(engine) as db:
        rest = [row["id"] for page in pages(db, who, first.cursor, 3) for row in page.rows]
    seen = {row["id"] for row in first.rows}
    assert seen | set(rest) == {look["id"] for look in looks}
    assert rest[-1] == looks[0]["id"]
    assert len(rest) == len(set(rest))


def test_derived_rows_and_records_come_in_one_order_and_the_newest_derived_one_alone(engine, neighbours):
    who = neighbours.keeper.who
    for n in range(3):
        push(engine, who, [added(who, "look", stamp(n))])
        with writing(engine) as db:
            put_derived(db, who.household_id, "forecast", "a brood", {"n": n})
    with reading(engine) as db:
        page = page_above(db, who.household_id, 0, 10)
        derived = [row for row in page.derived if row["kind"] == "forecast"]
    assert [row["body"] for row in derived] == [{"n": 2}]
    assert page.cursor == derived[0]["revision"]


def test_the_people_of_the_household_come_down_about_nothing(engine, neighbours):
    with reading(engine) as db:
        (row,) = page_above(db, neighbours.helper.who.household_id, 0).derived
    assert (row["kind"], row["about"]) == ("people", None)
    assert {person["name"] for person in row["body"]["people"]} == {"Ilka", "Tamsin", "Joris"}


def test_a_pull_writes_nothing_and_raises_no_revision(engine, neighbours):
    who = neighbours.keeper.who
    with reading(engine) as db:
        before = db.scalar(sa.select(tables.household.c.revision).filter_by(household_id=who.household_id))
        page = agree(db, who, Push([], before, 1, False), START).page
        after = db.scalar(sa.select(tables.household.c.revision).filter_by(household_id=who.household_id))
    assert (page.rows, page.derived, page.cursor, page.more) == ([], [], before, False)
    assert before == after


def test_a_cursor_beyond_everything_is_answered_with_nothing(engine, neighbours):
    with reading(engine) as db:
        page = page_above(db, neighbours.keeper.who.household_id, 2**62)
    assert (page.rows, page.derived, page.cursor, page.more) == ([], [], 2**62, False)


def test_a_page_with_more_behind_it_says_how_far_it_all_goes(engine, neighbours):
    who = neighbours.keeper.who
    push(engine, who, [added(who, "look") for _ in range(5)])
    cursors, upto = [0], []
    while True:
        with reading(engine) as db:
            page = agree(db, who, Push([], cursors[-1], 1, False), START, 2).page
        cursors.append(page.cursor)
        if not page.more:
            break
        upto.append(page.upto)
    assert page.upto is None
    assert set(upto) == {cursors[-1]}
