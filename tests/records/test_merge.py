"""Merging: the same result in whatever order and however often copies meet, and the same as on the phone."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from holdwatch.records.merge import Stamped, canonical, merge, unaware, wins

VECTORS = json.loads((Path(__file__).parents[1] / "merge_vectors.json").read_text("utf-8"))

# Few stamps and few values, so that copies collide in every way, a broken device's equal stamps included.
STAMPS = [f"176406180000{ms}.000{n}.{device}" for ms in "01" for n in "01" for device in ("ab12cd34", "zz99zz99")]
values = st.sampled_from([None, True, False, 0, 0.0, 1, 1.5, "", "full", "smaller", "\ufffd", "\U0001f41f"])
fields = st.builds(Stamped, values, st.sampled_from(STAMPS))
copies = st.dictionaries(st.sampled_from(["mouth", "food", "note"]), fields, max_size=3)
json_values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53), 2**53)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=4), inner, max_size=4),
    max_leaves=8,
)


def read(copy):
    return {name: Stamped(field["value"], field["stamp"]) for name, field in copy.items()}


def same(one, other):
    return {n: (f.stamp, canonical(f.value)) for n, f in one.items()} == {
        n: (f.stamp, canonical(f.value)) for n, f in other.items()
    }


@pytest.mark.parametrize("vector", VECTORS["merge"], ids=lambda vector: vector["why"])
def test_merging_agrees_with_the_vectors_that_the_phone_runs_too(vector):
    one, other, merged = (read(vector[name]) for name in ("one", "other", "merged"))
    assert same(merge(one, other), merged)
    assert same(merge(other, one), merged)


@pytest.mark.parametrize("vector", VECTORS["canonical"], ids=lambda vector: vector["text"])
def test_the_one_text_of_a_value_agrees_with_the_vectors_that_the_phone_runs_too(vector):
    assert canonical(vector["value"]) == vector["text"]


@given(copies, copies)
def test_merging_is_commutative(one, other):
    assert same(merge(one, other), merge(other, one))


@given(copies, copies, copies)
def test_merging_is_associative(one, two, three):
    assert same(merge(merge(one, two), three), merge(one, merge(two, three)))


@given(copies, copies)
def test_merging_is_idempotent(one, other):
    merged = merge(one, other)
    assert same(merge(merged, other), merged)
    assert same(merge(merged, one), merged)
    assert same(merge(one, one), one)


@given(copies, copies)
def test_merging_invents_nothing_and_drops_no_field(one, other):
    merged = merge(one, other)
    assert set(merged) == set(one) | set(other)
    assert all(field in (one.get(name), other.get(name)) for name, field in merged.items())


@given(fields, fields)
def test_of_two_different_writings_exactly_one_wins(one, other):
    different = (one.stamp, canonical(one.value)) != (other.stamp, canonical(other.value))
    assert wins(one, other) + wins(other, one) == different


@given(json_values)
def test_the_one_text_of_a_value_is_json_and_stands_for_that_value(value):
    assert json.loads(canonical(value)) == value
    assert canonical(json.loads(canonical(value))) == canonical(value)


# Half of a surrogate pair and whole numbers beyond 64 bits among them.
pointless = st.none() | st.booleans() | st.integers() | st.integers(-(2**70), 2**70) | st.text(st.characters())
EVERY_CHARACTER = "".join(chr(code) for code in range(0x110000) if not 0xD800 <= code < 0xE000)


@given(pointless | st.dictionaries(st.text(st.characters(), max_size=4), pointless, max_size=6))
@example(EVERY_CHARACTER)
@example({EVERY_CHARACTER: EVERY_CHARACTER})
@example({"\ufffd": 1, "\U00010000": 2, "~": 3, "": 4})
@example({"a": True, "b": 1, "c": None, "d": 2**63, "e": 2**64, "f": -(2**63) - 1})
def test_what_is_written_the_quick_way_is_what_the_standard_library_writes(value):
    assert canonical(value) == json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


@given(st.dictionaries(st.text(max_size=3), st.integers(), max_size=6))
def test_the_one_text_does_not_depend_on_the_order_of_names(value):
    assert canonical(dict(reversed(value.items()))) == canonical(value)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")])
def test_there_is_no_text_for_what_json_lacks(value):
    with pytest.raises(ValueError, match="JSON"):
        canonical(value)


def test_edits_know_of_each_other_when_one_replaced_the_other():
    first = Stamped("full", "1764061800000.0000.ab12cd34", revision=3)
    second, third = (
        Stamped("smaller", f"1764061800009.0000.{device}", was=first.stamp, revision=7)
        for device in ("zz99zz99", "yy88yy88")
    )
    assert not unaware(second, first, None)
    assert not unaware(first, second, None)
    assert unaware(third, second, None)
    assert unaware(second, third, None)


def test_an_edit_knows_of_all_that_its_writer_had_before_him_whatever_lay_between():
    old = Stamped("full", "1764061800000.0000.ab12cd34", revision=7)
    new = Stamped("smaller", "1764061800009.0000.zz99zz99", was="1764061800008.0000.zz99zz99")
    assert [unaware(new, old, seen) for seen in (None, 6, 7, 8)] == [True, True, False, False]


def test_edits_of_one_device_know_of_each_other():
    one = Stamped("full", "1764061800000.0000.ab12cd34", revision=7)
    other = Stamped("smaller", "1764061800009.0000.ab12cd34", was="1764061800008.0000.ab12cd34")
    assert not unaware(other, one, None)
    assert not unaware(one, other, None)
