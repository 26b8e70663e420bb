"""Which records tell of one event, by the vectors that the client's tests read too."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdwatch.domain.twice import LONGEST_MS, MINUTE_MS, Noted, events

VECTORS = json.loads((Path(__file__).parents[1] / "twice_vectors.json").read_text("utf-8"))["cases"]


def noted(record: dict[str, Any]) -> Noted:
    fields = record["fields"]
    at = round(datetime.fromisoformat(fields["at"]).timestamp() * 1000) if fields["at"] else None
    return Noted(record["id"], record["kind"], fields["about"] or "", at, record["author"], record["device"], fields)


def ids(groups: Sequence[Sequence[Noted]]) -> list[list[str]]:
    return [[record.id for record in group] for group in groups]


@pytest.mark.parametrize("vector", VECTORS, ids=[one["why"] for one in VECTORS])
def test_records_are_the_events_that_the_phone_shows(vector):
    records = [noted(record) for record in vector["records"]]
    assert ids(events(records)) == ids(events(records[::-1])) == vector["events"]


RECORDS = st.lists(
    st.builds(
        Noted,
        id=st.uuids().map(str),
        kind=st.sampled_from(["look", "feeding", "reading", "mark", "tank"]),
        about=st.sampled_from(["", "one", "other"]),
        at_ms=st.none() | st.integers(0, 8 * 60).map(lambda minutes: minutes * MINUTE_MS),
        author=st.sampled_from(["mira", "jonas", "tove"]),
        device=st.sampled_from(["a", "b"]),
        values=st.fixed_dictionaries(
            {},
            optional={
                "mouth": st.sampled_from(["full", "normal", None]),
                "food": st.sampled_from(["ate", None]),
                "took": st.sampled_from(["ate", "ignored"]),
                "what": st.sampled_from(["spawning", "courtship", "taken"]),
                "temperature_c": st.sampled_from([26, 26.1, 26.2, 27]),
                "light": st.sampled_from(["red", "daylight"]),
                "at_error_min": st.sampled_from([0, 15, 90, 5000]),
                "recalled": st.booleans(),
                "separate": st.booleans() | st.none(),
                "gone": st.booleans(),
            },
        ),
    ),
    max_size=14,
    unique_by=lambda record: record.id,
)


@given(RECORDS, st.randoms(use_true_random=False))
def test_every_record_is_in_one_event_whatever_order_they_come_in(records: list[Noted], random):
    found = ids(events(records))
    assert sorted(id for group in found for id in group) == sorted(record.id for record in records)
    shuffled = records[:]
    random.shuffle(shuffled)
    assert ids(events(shuffled)) == found


@given(RECORDS)
def test_an_event_is_of_one_thing_and_one_time_and_each_of_it_would_be_one_with_each_other(records: list[Noted]):
    for event in events(records):
        first = event[0]
        assert len({(record.kind, record.about) for record in event}) == 1
        assert all((record.at_ms or 0) - (first.at_ms or 0) <= LONGEST_MS for record in event)
        assert all(len(events([one, other])) == 1 for one in event for other in event if one.id < other.id)


@given(RECORDS)
def test_a_word_takes_a_record_out_of_its_event_and_leaves_it_there(records: list[Noted]):
    doubled = next((event for event in events(records) if len(event) > 1), None)
    if doubled is None:
        return
    last = doubled[-1]
    alone = Noted(**(vars(last) | {"values": {**last.values, "separate": True}}))
    apart = ids(events([alone if record.id == last.id else record for record in records]))
    assert [last.id] in apart
    assert [record.id for record in doubled[:-1]] in apart
