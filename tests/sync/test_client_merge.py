"""The client's merge, run by Node, does what the server's does on whatever copies meet."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from holdwatch.records.merge import Stamped, canonical, merge
from sync.client_phone import Node, running_node

STAMPS = [f"176406180000{ms}.000{n}.{device}" for ms in "01" for n in "01" for device in ("ab12cd34", "zz99zz99")]
# Texts that UTF-8 can carry, numbers that a double can.
texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=8)
scalars = st.none() | st.booleans() | st.integers(-(2**53), 2**53) | texts
values = scalars | st.floats(-1e15, 1e15, allow_subnormal=False)
trees = st.recursive(values, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(texts, inner, max_size=3))
copies = st.dictionaries(st.sampled_from(["mouth", "food", "note"]), st.tuples(values, st.sampled_from(STAMPS)))
thoroughly = settings(
    max_examples=300, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


@pytest.fixture(scope="module")
def node() -> Iterator[Node]:
    with running_node() as node:
        yield node


def sent(copy):
    return {name: {"value": value, "stamp": stamp} for name, (value, stamp) in copy.items()}


@thoroughly
@given(one=copies, other=copies)
def test_both_sides_merge_alike(node, one, other):
    theirs = node.ask(op="merge", a=sent(one), b=sent(other))["merged"]
    ours = merge(*({name: Stamped(*field) for name, field in copy.items()} for copy in (one, other)))
    assert {name: (canonical(f["value"]), f["stamp"]) for name, f in theirs.items()} == {
        name: (canonical(f.value), f.stamp) for name, f in ours.items()
    }


@thoroughly
@given(value=trees)
def test_both_sides_write_a_value_alike(node, value):
    assert node.ask(op="canonical", value=value)["text"] == canonical(value)
