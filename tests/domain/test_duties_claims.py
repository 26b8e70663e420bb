"""Who has a duty, by marks that two phones made without knowing of each other."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from domain.hold import local, look, mark, of_kind, one, outlook, watched
from holdwatch.domain.duties import claimed, planned

NOW = local(25, 10)
CATCH = one(planned(watched(), outlook(NOW), (), NOW), "catch_tonight")


def said(what: str, person: str, minute: int):
    """A mark on the catch."""
    return mark(what, person, local(25, 12, minute), CATCH.key)


@pytest.mark.parametrize(
    ("marks", "holder"),
    [
        ([], None),
        ([said("taken", "ada", 1)], "ada"),
        ([said("taken", "ada", 1), said("taken", "ben", 2)], "ada"),
        ([said("taken", "ada", 1), said("handed_back", "ada", 2)], None),
        ([said("taken", "ada", 1), said("taken", "ben", 2), said("handed_back", "ada", 3)], "ben"),
        (
            [said("taken", "ada", 1), said("handed_back", "ada", 2), said("taken", "ben", 3), said("taken", "ada", 4)],
            "ben",
        ),
        ([said("taken", "ada", 1), said("handed_back", "ben", 2)], "ada"),
        ([said("taken", "ada", 1), said("taken", "ada", 5), said("taken", "ben", 3)], "ada"),
    ],
)
def test_of_two_who_take_it_the_earlier_stamp_holds(marks, holder):
    for order in (marks, marks[::-1], random.Random(7).sample(marks, len(marks))):
        assert claimed(CATCH, order).taken_by == holder


def test_done_by_one_is_done_for_all_at_the_first_time_it_was_said():
    marks = [said("done", "ben", 9), said("done", "ada", 4), said("taken", "ada", 1)]
    assert claimed(CATCH, marks).done_at == local(25, 12, 4)


def test_done_beats_skipped_whichever_was_said_first():
    done, skipped = said("done", "ben", 9), said("skipped", "ada", 4)
    assert (claimed(CATCH, [skipped]).skipped, claimed(CATCH, [skipped]).done_at) == (True, local(25, 12, 4))
    for marks in ([done, skipped], [skipped, done]):
        assert (claimed(CATCH, marks).skipped, claimed(CATCH, marks).done_at) == (False, local(25, 12, 9))


def test_loose_young_cannot_be_skipped():
    seen = look(NOW, loose_fry="seen")
    (alarm,) = of_kind(planned(watched(seen), outlook(NOW), (), NOW), "fry_loose")
    skipped = mark("skipped", "ada", NOW, alarm.key)
    assert claimed(alarm, [skipped]) == alarm


def test_each_puts_it_off_for_himself_until_what_he_said_last():
    first, second = (replace(said("later", "ada", minute), until=local(25, 13, minute)) for minute in (1, 2))
    other = replace(said("later", "ben", 3), until=local(25, 15))
    assert claimed(CATCH, [second, other, first]).put_off == (("ada", local(25, 13, 2)), ("ben", local(25, 15)))


def test_a_mark_on_another_duty_says_nothing():
    assert claimed(CATCH, [mark("taken", "ada", NOW, "look:b1:2026-11-25")]) == CATCH


@given(
    st.lists(
        st.builds(
            said,
            st.sampled_from(["taken", "handed_back", "done", "skipped", "later"]),
            st.sampled_from(["ada", "ben", "cas"]),
            st.integers(0, 59),
        )
    ),
    st.randoms(use_true_random=False),
)
def test_the_order_in_which_marks_arrive_changes_nothing(marks, chance):
    """Stamps of one person and minute are equal here, so only one mark each is kept."""
    distinct = list({mark.stamp: mark for mark in marks}.values())
    shuffled = chance.sample(distinct, len(distinct))
    assert claimed(CATCH, shuffled) == claimed(CATCH, distinct)
    assert claimed(claimed(CATCH, distinct), distinct) == claimed(CATCH, distinct)
