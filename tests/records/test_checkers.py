"""The checkers, compiled from the schemas of the kinds, judge every value of every field as marshmallow does."""

from __future__ import annotations

from datetime import timedelta, timezone

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from marshmallow import ValidationError, validate
from marshmallow import fields as shapes

from holdwatch.records import checkers, kinds
from holdwatch.records.checkers import CHECKERS, SHAPES, compiled
from holdwatch.records.fields import Number, Text
from holdwatch.records.kinds import KINDS
from holdwatch.services.sync.change import check_plain

FIELDS = [(kind, name) for kind, schema in KINDS.items() for name in schema.fields]
HOSTILE = [
    *(None, True, False, 0, 1, -1, 2.5, -0.0, 1e-320, 5e-324, 10**15, 2**53 + 1, 10**400, -(10**400)),
    *(float("nan"), float("inf"), -float("inf"), 1e308, "nan", "1", "true", "", " ", "\n"),
    *("\x00", "full\x00", "red\n", "\ud800", "\udfff!", "a\u2028b", "Ａ", "٠٧:٠٠", "x" * 2000, "ü" * 2001, "x" * 121),
    *([], {}, ["full"], {"value": "full"}, [[]], ("full",), frozenset({"full"})),
]
INSTANTS = [
    *("2026-11-25T20:10:00.000Z", "2026-11-25T20:10Z", "2026-11-25T20:10:00+01:00", "2026-11-25T24:00:00Z"),
    *("2026-11-25T20:10:60Z", "2026-11-25T20:10:00,5Z", "2026-W48-3T20:10:00Z", "20261125T201000Z", "2026-11-25"),
    *("2026-11-25T20:10:00+24:00", "2026-11-25T20:10:00-23:59", "2026-02-30T20:10:00Z", "2026-11-25t20:10:00z"),
    *("1900-01-01T00:00:00Z", "1899-12-31T23:59:59.999999Z", "1900-01-01T00:30:00+01:00", "0001-01-01T00:00:00+14:00"),
    *("2200-12-31T23:59:59Z", "2200-12-31T23:59:59-01:00", "9999-12-31T23:59:59-14:00", "٢026-11-25T20:10:00Z"),
]
OTHERS = [
    *("017f22e2-79b0-7cc3-98c4-dc0c0c07398f", "017F22E2-79B0-7CC3-98C4-DC0C0C07398F", "017f22e2-79b0-7cc3"),
    *("017f22e2-79b0-7cc3-98c4-dc0c0c07398f\n", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
    *("Europe/Berlin", "europe/berlin", "localtime", "../../etc/passwd", "07:00", "24:00", "7:00", "07:00\n"),
    *(-5, -5.01, 45, 45.01, 10_000, 10_001, 10_000.5, 100_000, 100_001, 1_000_000, 1_000_001, 100_000_000, 34.0),
]


def choices(field):
    return [choice for check in field.validators if isinstance(check, validate.OneOf) for choice in check.choices]


CHOICES = sorted({choice for kind, name in FIELDS for choice in choices(KINDS[kind].fields[name])})
zones = st.builds(timezone, st.timedeltas(timedelta(hours=-23), timedelta(hours=23)))
instants = st.datetimes(timezones=st.none() | zones).map(lambda moment: moment.isoformat())
texts = st.text(st.characters(), max_size=30) | st.text("0123456789-:TZ+.", max_size=30) | instants
numbers = st.integers() | st.floats() | st.integers(-10, 110_000) | st.floats(-10, 110_000)
values = st.sampled_from(HOSTILE + INSTANTS + OTHERS + CHOICES) | texts | numbers | st.lists(texts, max_size=2)
names = st.sampled_from(sorted({name for _, name in FIELDS} | {"gill_rate"}))


def marshmallow_takes(kind, name, value):
    return KINDS[kind].validate({name: value}) == {}


@pytest.mark.parametrize(("kind", "name"), FIELDS)
def test_each_checker_judges_as_marshmallow_does_what_somebody_hostile_would_send(kind, name):
    tried = [*HOSTILE, *INSTANTS, *OTHERS, *CHOICES, *(f"{choice} " for choice in CHOICES)]
    assert [v for v in tried if bool(CHECKERS[kind][name](v)) != marshmallow_takes(kind, name, v)] == []


@settings(max_examples=3000, deadline=None)
@given(st.sampled_from(FIELDS), values)
def test_each_checker_judges_as_marshmallow_does_whatever_comes(field, value):
    kind, name = field
    assert bool(CHECKERS[kind][name](value)) == marshmallow_takes(kind, name, value)


@settings(max_examples=1000, deadline=None)
@given(st.sampled_from(sorted(KINDS)), st.dictionaries(names, values, max_size=6))
@example("look", {"note": b"full"})
def test_all_that_is_wrong_is_said_in_the_same_words_and_order(kind, written):
    assert checkers.faults(kind, written) == kinds.faults(kind, written)


def plain(kind, name, value):
    """Whether a value that the checker takes can be stored; anything else is not asked."""
    if CHECKERS[kind][name](value):
        check_plain({name: value})


@pytest.mark.parametrize(("kind", "name"), FIELDS)
def test_what_a_checker_takes_can_be_stored_however_hostile(kind, name):
    for value in (*HOSTILE, *INSTANTS, *OTHERS, *CHOICES, "x" * 16_385):
        plain(kind, name, value)


@settings(max_examples=2000, deadline=None)
@given(st.sampled_from(FIELDS), values)
def test_what_a_checker_takes_can_be_stored(field, value):
    plain(*field, value)


def test_no_field_is_left_to_the_slow_way():
    assert {type(KINDS[kind].fields[name]) for kind, name in FIELDS} <= set(SHAPES)


@pytest.mark.parametrize("taken", [Number(), Text(allow_none=False), shapes.Integer(allow_none=True)])
def test_a_field_of_another_make_is_judged_by_marshmallow_itself(taken):
    check = compiled(taken)
    for value in (None, 3, 3.5, "3", "full", []):
        try:
            taken.deserialize(value)
            right = True
        except ValidationError:
            right = False
        assert check(value) == right
