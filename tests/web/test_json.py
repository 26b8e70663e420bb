"""JSON in and out: the quick library reads and writes what the standard one does, and leaves to it what it cannot."""

from __future__ import annotations

import json
from math import copysign

import pytest
from flask import Flask
from hypothesis import example, given, settings
from hypothesis import strategies as st
from werkzeug.exceptions import BadRequest

from holdwatch.web.bodies import Writer, read_json

BITS = 64
texts = st.text(st.characters(), max_size=12)
scalars = (
    st.none()
    | st.booleans()
    | st.integers(-(2**63), 2**BITS - 1)
    | st.floats(allow_nan=False, allow_infinity=False)
    | texts
)
values = st.recursive(
    scalars, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(texts, inner, max_size=3), max_leaves=12
)
# What JSON is made of, in any order: nearly all of it is none.
scraps = st.lists(
    st.sampled_from([*'{}[],:"\\ \n\t', "-", "0", "1", "9", ".", "e", "E", "+", "true", "null", "NaN", "Infinity"])
    | st.sampled_from(
        ['"a"', '"\\ud800"', '"\\u00e9"', '"\\x"', '{"a":1,"a":2}', "1e400", "-0", "0.1", "1E5", "é", "\x01"]
    ),
    max_size=8,
).map("".join)


def by_the_standard_library(body):
    def no_number(name):
        raise ValueError(name)

    return json.loads(body.decode("utf-8"), parse_constant=no_number)


def same(one, other):
    """Equal in value and in kind, the sign of nothing included."""
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(same(one[name], other[name]) for name in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(same, one, other))
    return type(one) is type(other) and one == other and (one != 0 or copysign(1, one) == copysign(1, other))


def check_alike(body):
    try:
        theirs = by_the_standard_library(body)
    except (ValueError, RecursionError):
        with pytest.raises(BadRequest):
            read_json(body)
    else:
        assert same(read_json(body), theirs)


@settings(max_examples=1000, deadline=None)
@given(values, st.booleans())
def test_every_value_is_read_as_the_standard_library_reads_it(value, ascii_alone):
    check_alike(json.dumps(value, ensure_ascii=ascii_alone).encode("utf-8", "surrogatepass"))


@settings(max_examples=2000, deadline=None)
@given(scraps.map(lambda text: text.encode("utf-8", "surrogatepass")) | st.binary(max_size=12))
@example(b"")
@example(b"\xef\xbb\xbf{}")
@example('"\ud800"'.encode("utf-8", "surrogatepass"))
@example("{}".encode("utf-16"))
@example(b'{"a":1,"b":2,"a":3}')
@example(b"[" * 500 + b"]" * 500)
@example(b"[" * 5000 + b"]" * 5000)
@example(b"1" * 5000)
@example(b"1e400")
@example(b"2.2250738585072011e-308")
@example(b"179769313486231580793728971405301e276")
def test_whatever_comes_is_read_or_refused_as_by_the_standard_library(body):
    check_alike(body)


@pytest.mark.parametrize("number", [2**BITS, -(2**63) - 1, 10**30, 123456789012345678901234567890])
def test_a_whole_number_beyond_64_bits_is_the_nearest_that_a_browser_knows(number):
    assert read_json(str(number).encode()) == float(number)


@settings(max_examples=1000, deadline=None)
@given(values)
@example("\ud800")
@example({"\udfff": [2**70]})
def test_what_is_written_is_read_by_the_standard_library_as_what_it_was(value):
    assert same(json.loads(Writer(Flask("writing")).dumps(value)), value)
