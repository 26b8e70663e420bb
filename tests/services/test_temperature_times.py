"""Dates and times as files write them: published examples, what is ambiguous, and what is none."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdwatch.services.temperature.times import BadTime, NeedsOrder, needs_order, orders_of, read_time


def utc(text: str, order=None) -> str:
    return read_time(text, order).at.astimezone(UTC).isoformat()


def local(text: str, order=None) -> str:
    told = read_time(text, order)
    assert told.at.tzinfo is None
    return told.at.isoformat()


@pytest.mark.parametrize(
    ("text", "instant"),
    [
        ("1985-04-12T23:20:50.52Z", "1985-04-12T23:20:50.520000+00:00"),
        ("1996-12-19T16:39:57-08:00", "1996-12-20T00:39:57+00:00"),
        # A leap second at the end of 1990, and the same in Pacific Standard Time: one instant.
        ("1990-12-31T23:59:60Z", "1991-01-01T00:00:00+00:00"),
        ("1990-12-31T15:59:60-08:00", "1991-01-01T00:00:00+00:00"),
        ("1937-01-01T12:00:27.87+00:20", "1937-01-01T11:40:27.870000+00:00"),
    ],
)
def test_the_examples_of_rfc_3339_section_5_8(text, instant):
    assert utc(text) == instant


@pytest.mark.parametrize(
    "text",
    [
        "2026-11-25T20:10:00Z", "2026-11-25 20:10:00Z", "2026-11-25 20:10:00 UTC", "2026-11-25 20:10 GMT",
        "2026-11-25T21:10:00+01:00", "2026-11-25 21:10:00 +0100", "2026-11-25T21:10:00+01", "20261125T201000Z",
        "20261125T211000+0100", "2026-11-25T20:10:00.000Z", "2026-11-25T20:10:00,000Z", "2026/11/25 20:10:00Z",
        "1795637400", "1795637400000", "Wed, 25 Nov 2026 20:10:00 GMT", "25 Nov 2026 21:10:00 +0100",
        "2026-11-25T15:10:00\u221205:00",
    ],
)  # fmt: skip
def test_these_are_all_one_instant(text):
    assert utc(text) == "2026-11-25T20:10:00+00:00"


@pytest.mark.parametrize(
    "text",
    [
        "2026-11-25T20:10", "2026-11-25 20:10", "2026-11-25 20:10:00", "2026/11/25 20:10", "2026.11.25 20:10",
        "2026/11/25 8:10 PM", "25 Nov 2026 20:10", "25-Nov-2026 20:10:00", "25. November 2026 20:10",
        "Nov 25, 2026 8:10 pm", "November 25 2026, 20:10", "Wed Nov 25 2026 20:10", "2026-11-25T20:10:00.000",
        "Nov 25, 2026, 8:10\u202fPM", "2026-11-25\xa020:10",
    ],
)  # fmt: skip
def test_these_are_all_the_same_by_the_clock_of_the_tank(text):
    assert local(text) == "2026-11-25T20:10:00"


def test_parts_of_a_second_are_kept_to_the_millionth():
    assert local("25 Nov 2026 20:10:05.25") == "2026-11-25T20:10:05.250000"
    assert local("25 Nov 2026 20:10:05,123456789") == "2026-11-25T20:10:05.123456"


@pytest.mark.parametrize(
    ("text", "hour"), [("12:10 AM", 0), ("1:10 am", 1), ("11:10 a.m.", 11), ("12:10 PM", 12), ("1:10 p.m.", 13)]
)
def test_halves_of_a_day_have_noon_in_the_second(text, hour):
    assert local(f"2026/11/25 {text}") == f"2026-11-25T{hour:02}:10:00"


@pytest.mark.parametrize(
    ("text", "dmy", "mdy"),
    [
        ("03/11/2026 20:10", "2026-11-03", "2026-03-11"),
        ("3.11.2026 20:10", "2026-11-03", "2026-03-11"),
        ("03-11-2026 20:10", "2026-11-03", "2026-03-11"),
        ("03/11/26 8:10 PM", "2026-11-03", "2026-03-11"),
    ],
)
def test_what_may_be_read_in_two_ways_is_not_guessed(text, dmy, mdy):
    with pytest.raises(NeedsOrder):
        read_time(text, None)
    assert local(text, "dmy") == f"{dmy}T20:10:00"
    assert local(text, "mdy") == f"{mdy}T20:10:00"
    assert {"dmy", "mdy"} <= set(orders_of([text]))


def test_one_date_that_fits_one_order_settles_it_for_all():
    assert orders_of(["03/11/2026 20:10", "25/11/2026 20:10"]) == ("dmy",)
    assert orders_of(["03/11/2026 20:10", "11/25/2026 8:10 PM"]) == ("mdy",)
    assert orders_of(["03/11/2026", "11/12/2026"]) == ("dmy", "mdy")
    assert orders_of(["25/11/26 20:10", "26/11/26 20:10"]) == ("dmy", "ymd")
    assert orders_of(["13/12/2026", "12/13/2026"]) == ()
    assert not needs_order(["2026-11-25 20:10", "1795637400", "25 Nov 2026 20:10"])
    assert needs_order(["2026-11-25 20:10", "3/11/2026"])


def test_a_year_that_comes_first_needs_no_order():
    for order in (None, "dmy", "mdy"):
        assert local("2026/03/11 20:10", order) == "2026-03-11T20:10:00"


def test_a_date_alone_stands_for_noon_and_says_so():
    for text, order in (("2026-11-25", None), ("25.11.2026", "dmy"), ("Nov 25, 2026", None)):
        told = read_time(text, order)
        assert told.is_noon and told.at == datetime(2026, 11, 25, 12)
    assert not read_time("2026-11-25 12:00", None).is_noon


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("", None), ("   ", None), ("yesterday", None), ("20:10", None), ("26.1", None), ("17956374", None),
        ("2026-13-01 20:10", None), ("2026-02-29 20:10", None), ("2026-11-25 24:10", None), ("2026-11-25 20:60", None),
        ("25/13/2026 20:10", "dmy"), ("31/02/2026 20:10", "dmy"), ("25/11/2026 20:10", "mdy"),
        ("25/11/2026 20:10", "ymd"), ("25/11/126 20:10", "dmy"), ("2026/11/25 13:10 PM", None),
        ("12345678901", None), ("25 Foo 2026 20:10", None), ("2026-11-25 20:10 CET", None),
        ("2026-11-25 20:10 +25:00", None), ("\u0661" * 10, None),
    ],
)  # fmt: skip
def test_these_are_no_date_and_time(text, order):
    with pytest.raises(BadTime) as bad:
        read_time(text, order)
    assert str(bad.value) and not str(bad.value).endswith(".")


@given(st.datetimes(datetime(1970, 1, 1), datetime(2200, 1, 1)))
def test_every_way_of_writing_a_time_is_read_back(at):
    at = at.replace(microsecond=0)
    ways = {
        "%Y-%m-%dT%H:%M:%S": None, "%Y/%m/%d %H:%M:%S": None, "%d.%m.%Y %H:%M:%S": "dmy",
        "%m/%d/%Y %I:%M:%S %p": "mdy", "%d %b %Y %H:%M:%S": None, "%B %d, %Y %H:%M:%S": None,
    }  # fmt: skip
    for way, order in ways.items():
        text = at.strftime(way) if at.year > 999 else ""
        assert read_time(text, order).at == at, way
    assert read_time(str(int(at.replace(tzinfo=UTC).timestamp())).zfill(10), None).at == at.replace(tzinfo=UTC)
