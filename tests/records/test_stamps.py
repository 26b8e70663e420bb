"""Stamps against the published algorithm, against the vectors shared with the phone, and as text that sorts."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdwatch.records.stamps import COUNTER_LIMIT, BadStamp, Stamp, checked_stamp, parse_stamp, tick

VECTORS = json.loads((Path(__file__).parents[1] / "merge_vectors.json").read_text("utf-8"))

# Kulkarni, Demirbas, Madappa, Avva and Leone 2014, "Logical Physical Clocks", OPODIS 2014, figure 5 (the
# algorithm). The trace was made for this check and worked by hand: (node, physical clock, event, message).
TRACE = [
    ("A", 10, "send", "m1"),
    ("B", 1, "receive", "m1"),
    ("B", 2, "local", None),
    ("B", 3, "send", "m2"),
    ("C", 0, "receive", "m2"),
    ("A", 10, "local", None),
    ("A", 11, "local", None),
    ("C", 5, "send", "m3"),
    ("A", 12, "receive", "m3"),
    ("B", 14, "local", None),
]
AFTER_EACH = [(10, 0), (10, 1), (10, 2), (10, 3), (10, 4), (10, 1), (11, 0), (10, 5), (12, 0), (14, 0)]

stamps = st.builds(
    Stamp, st.integers(0, 10**13 - 2), st.integers(0, COUNTER_LIMIT), st.from_regex(r"[0-9a-z]{8}", fullmatch=True)
)


def test_ticking_follows_the_published_algorithm():
    latest: dict[str, Stamp] = {}
    messages: dict[str | None, Stamp] = {}
    seen = []
    for node, clock_ms, event, message in TRACE:
        # To receive is to tick after the later of one's own and the message's: the algorithm's three cases are one.
        heard = [messages[message]] if event == "receive" else []
        latest[node] = tick(max([*heard, *filter(None, [latest.get(node)])], default=None), clock_ms, node * 8)
        if event == "send":
            messages[message] = latest[node]
        seen.append((latest[node].milliseconds, latest[node].counter))
    assert seen == AFTER_EACH


@pytest.mark.parametrize("vector", VECTORS["ticks"], ids=lambda vector: vector["why"])
def test_ticking_agrees_with_the_vectors_that_the_phone_runs_too(vector):
    latest = parse_stamp(vector["latest"]) if vector["latest"] else None
    assert str(tick(latest, vector["clock_ms"], vector["device"])) == vector["stamp"]


@given(stamps, stamps)
def test_stamps_sort_as_text_just_as_they_do_by_time_counter_and_device(one, other):
    assert (str(one) < str(other)) == (one < other)


@given(stamps)
def test_a_stamp_survives_being_written_and_read(stamp):
    assert parse_stamp(str(stamp)) == stamp


@given(stamps, st.integers(0, 10**13 - 1), st.from_regex(r"[0-9a-z]{8}", fullmatch=True))
def test_a_tick_is_later_than_all_that_was_seen_and_not_behind_the_clock(latest, clock_ms, device):
    made = tick(latest, clock_ms, device)
    assert (made.milliseconds, made.counter) > (latest.milliseconds, latest.counter)
    assert str(made) > str(latest)
    assert made.milliseconds >= clock_ms


def test_a_device_never_makes_the_same_stamp_twice_though_its_clock_stands_and_its_counter_overflows():
    made = [Stamp(1_764_061_800_000, COUNTER_LIMIT - 3, "ab12cd34")]
    for _ in range(10):
        made.append(tick(made[-1], 1_764_061_800_000, "ab12cd34"))
    assert sorted(set(map(str, made))) == [str(stamp) for stamp in made]
    assert made[-1].milliseconds == 1_764_061_800_001


@pytest.mark.parametrize(
    "text",
    [
        None,
        7,
        "",
        "1764061800000.0000.ab12cd3",
        "1764061800000.0000.AB12CD34",
        "1764061800000.000G.ab12cd34",
        "1764061800000.0000.ab12cd34\n",
        "١٧٦٤٠٦١٨٠٠٠٠٠.0000.ab12cd34",
        "176406180000.0000.ab12cd34",
        "\ud800",
    ],
)
def test_what_is_no_stamp_is_not_read_as_one(text):
    with pytest.raises(BadStamp) as problem:
        parse_stamp(text)
    assert str(problem.value).isprintable()


@pytest.mark.parametrize(
    "text", [None, 3, "", "1764061800000.0000.ab12cd3", "1764061800000.0000.AB12CD34", "x" * 27, []]
)
def test_what_is_no_stamp_is_told_in_the_same_words_whether_it_is_read_or_only_checked(text):
    words = {str(told.value) for told in (pytest.raises(BadStamp, act, text) for act in (parse_stamp, checked_stamp))}
    assert len(words) == 1


def test_a_stamp_that_is_only_checked_stays_the_text_it_was():
    for text in ("1764061800000.0000.ab12cd34", "9999999999999.ffff.zzzzzzzz"):
        assert checked_stamp(text) is text
        assert str(parse_stamp(text)) == text
