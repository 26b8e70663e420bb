"""What is understood of a file before anything of it is kept."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from holdwatch.services.temperature import Choices, preview_rows, understand
from holdwatch.services.temperature.form import MOST_COLUMNS

ZONE = "Europe/Copenhagen"
NOW = datetime(2026, 11, 25, 20, 10, tzinfo=UTC)


def understood(text: str, **chosen):
    return understand(text.encode(), True, Choices(**chosen))


def rows(text: str, **chosen) -> list[tuple[int, str, float]]:
    found = preview_rows(understood(text, **chosen), ZONE, NOW).rows
    at = [datetime.fromtimestamp(row.at_ms / 1000, UTC).isoformat()[:16] for row in found]
    return [(row.line, minute, row.millidegrees / 1000) for row, minute in zip(found, at, strict=True)]


PLAIN = "time,temperature\n2026-11-24T20:10:00Z,26.1\n2026-11-24T20:20:00Z,26.2\n"


def test_a_plain_file_needs_no_choice_but_the_unit():
    found = understood(PLAIN)
    form = found.form
    assert (form.delimiter, form.has_header, form.time_columns, form.value_column) == (",", True, (0,), 1)
    assert found.columns == ("time", "temperature") and found.orders == ()
    assert not found.is_ready() and rows(PLAIN) == []
    assert understood(PLAIN, unit="C").is_ready()
    assert rows(PLAIN, unit="C") == [(2, "2026-11-24T20:10", 26.1), (3, "2026-11-24T20:20", 26.2)]
    assert rows(PLAIN, unit="F")[0] == (2, "2026-11-24T20:10", -3.278)


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("time;Temp (°C)\n2026-11-24T20:10Z;26,1\n", "C"),
        ("time;temp_f\n2026-11-24T20:10Z;79\n", "F"),
        ("time;Water [K]\n2026-11-24T20:10Z;299,2\n", "K"),
        ("time;water\n2026-11-24T20:10Z;26,1 °C\n", "C"),
        ("time;water\n2026-11-24T20:10Z;79F\n", "F"),
        ("time;water\n2026-11-24T20:10Z;26,1\n", None),
        ("time;Tank\n2026-11-24T20:10Z;26,1\n", None),
    ],
)
def test_a_unit_is_taken_from_the_file_only_where_it_says_one(text, unit):
    assert understood(text).form.unit == unit


def test_a_file_without_names_of_columns_and_one_whose_first_line_is_wrongly_taken_for_names():
    bare = "2026-11-24T20:10:00Z,26.1\n2026-11-24T20:20:00Z,26.2\n"
    assert not understood(bare).form.has_header and understood(bare).columns == ("", "")
    assert len(rows(bare, unit="C")) == 2
    assert rows(bare, unit="C", has_header=True) == [(2, "2026-11-24T20:20", 26.2)]


def test_date_and_time_of_day_may_stand_in_two_columns():
    text = "Datum;Uhrzeit;Becken\n24.11.2026;20:10;26,1\n25.11.2026;20:10;26,2\n"
    found = understood(text, unit="C")
    assert found.form.time_columns == (0, 1) and found.form.value_column == 2 and found.form.order == "dmy"
    assert rows(text, unit="C")[0] == (2, "2026-11-24T19:10", 26.1)


def test_of_several_columns_of_numbers_none_is_picked():
    text = "time,air,water\n2026-11-24T20:10:00Z,21.0,26.1\n"
    assert understood(text).form.value_column is None
    assert rows(text, unit="C", value_column=2) == [(2, "2026-11-24T20:10", 26.1)]
    assert understood(text, value_column=7).form.value_column is None


def test_of_a_wide_file_the_first_columns_are_read_and_the_others_are_counted():
    wide = "time,water" + ",x" * (MOST_COLUMNS + 5) + "\n2026-11-24T20:10:00Z,26.1" + ",on" * (MOST_COLUMNS + 5) + "\n"
    found = understood(wide, unit="C")
    assert (len(found.columns), found.columns_more) == (MOST_COLUMNS, 7)
    assert rows(wide, unit="C") == [(2, "2026-11-24T20:10", 26.1)]
    assert understood(PLAIN).columns_more == 0


def test_an_open_order_is_asked_for_with_an_example_of_what_it_means():
    text = "05/05/2026 20:10;26,0\n03/11/2026 20:10;26,1\n04/11/2026 20:10;26,2\n"
    found = understood(text, unit="C")
    assert found.orders == ("dmy", "mdy") and found.form.order is None and not found.is_ready()
    example = found.example()
    assert example.text == "03/11/2026 20:10"
    assert [(day.order, day.day) for day in example.days] == [("dmy", date(2026, 11, 3)), ("mdy", date(2026, 3, 11))]
    assert rows(text, unit="C", order="mdy")[1] == (2, "2026-03-11T19:10", 26.1)
    assert rows(text, unit="C", order="dmy")[1] == (2, "2026-11-03T19:10", 26.1)


def test_an_order_that_the_dates_settle_is_not_asked_for():
    text = "24/11/2026 20:10;26,0\n03/11/2026 20:10;26,1\n"
    assert understood(text, unit="C").form.order == "dmy" and understood(text, unit="C").is_ready()
    mixed = "24/11/2026 20:10;26,0\n11/24/2026 20:10;26,1\n"
    assert understood(mixed, unit="C").orders == ("dmy", "mdy", "ymd")


def test_the_thirteenth_of_a_month_may_come_late():
    minutes = "".join(f"03/11/2026 {n // 60 % 24:02}:{n % 60:02};26,0\n" for n in range(1440))
    assert understood(minutes, unit="C").orders == ("dmy", "mdy")
    assert understood(minutes + "13/11/2026 00:00;26,0\n", unit="C").form.order == "dmy"


def test_times_may_be_those_of_utc():
    assert rows("2026-11-24 20:10;26,1\n", unit="C")[0][1] == "2026-11-24T19:10"
    assert rows("2026-11-24 20:10;26,1\n", unit="C", clock="utc")[0][1] == "2026-11-24T20:10"
    # What says its offset is not read by any clock.
    assert rows("2026-11-24T20:10+05:00;26,1\n", unit="C", clock="utc")[0][1] == "2026-11-24T15:10"


def test_lines_that_are_none_are_named_in_the_preview_too():
    text = "time;water\nyesterday;26,1\n2026-11-24T20:10Z;warm\n2026-11-24T20:20Z\n2026-11-26T20:20Z;26\n"
    found = preview_rows(understood(text, unit="C", time_columns=(0,), value_column=1), ZONE, NOW)
    assert [(wrong.line, wrong.why) for wrong in found.wrong] == [
        (2, "'yesterday' is no date and time"), (3, "'warm' is no temperature"), (4, "there are too few columns"),
        (5, "this lies in the future"),
    ]  # fmt: skip


@pytest.mark.parametrize("data", [b"", b"\n\n", b"\x00\x01\x02", b"hello", b"\xff\xfe", b";;;\n", b'"'])
def test_what_is_no_table_leaves_everything_to_be_chosen(data):
    found = understand(data, True, Choices())
    assert not found.is_ready() and preview_rows(found, ZONE, NOW).rows == []
    assert understand(data, True, Choices(unit="C", time_columns=(3,), value_column=4)).form.time_columns == ()


def test_shown_cells_are_one_short_line_each():
    text = 'time,"a\nb"\n2026-11-24T20:10Z,"' + "x" * 500 + '"\n'
    found = understood(text, has_header=False)
    assert found.shown_cells()[0] == ["time", "a·b"]
    assert len(found.shown_cells()[1][1]) == 120
