"""Tables as text: the dialects of RFC 4180 and its relatives, and files that are cut anywhere."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdwatch.services.temperature.sheet import (
    LONGEST_FIELD,
    LONGEST_RECORD,
    delimiter_of,
    encoding_of,
    read_piece,
)


def cells(data: bytes, delimiter: str = ",", encoding: str = "utf-8") -> list[list[str]]:
    return [list(record.cells) for record in read_piece(data, encoding, delimiter, 1, True).records]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),
        ("aaa,bbb,ccc\r\nzzz,yyy,xxx", [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),
        ('"aaa","bbb","ccc"\r\nzzz,yyy,xxx', [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),
        ('"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx', [["aaa", "b\r\nbb", "ccc"], ["zzz", "yyy", "xxx"]]),
        ('"aaa","b""bb","ccc"', [["aaa", 'b"bb', "ccc"]]),
    ],
)
def test_the_examples_of_rfc_4180_are_read_as_it_says(text, expected):
    # RFC 4180, section 2, rules 1, 2, 5, 6 and 7.
    assert cells(text.encode()) == expected


TEXT = st.text(st.characters(codec="utf-8", exclude_characters="\x00\ufeff\ufdd0\r"), max_size=12)
ROWS = st.lists(st.lists(TEXT.map(str.strip), min_size=2, max_size=4), min_size=1, max_size=12)


def _piece(whole: bytes, offset: int, length: int, encoding: str, delimiter: str, line: int):
    return read_piece(whole[offset : offset + length], encoding, delimiter, line, offset + length >= len(whole))


@settings(max_examples=200, deadline=None)
@given(ROWS, st.sampled_from([",", ";", "\t", "|"]), st.sampled_from(["utf-8", "utf-16-le"]), st.data())
def test_wherever_a_file_is_cut_the_records_are_those_of_the_csv_module(rows, delimiter, encoding, data):
    rows = [row for row in rows if any(row)]
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=delimiter).writerows(rows)
    whole = text.getvalue().encode(encoding)
    found, numbers, offset, line = [], [], 0, 1
    while offset < len(whole):
        length = data.draw(st.integers(1, max(1, len(whole) - offset)), label="length")
        while not (piece := _piece(whole, offset, length, encoding, delimiter, line)).size:
            length += 1
        found += [list(record.cells) for record in piece.records]
        numbers += [record.line for record in piece.records]
        offset, line = offset + piece.size, piece.next_line
    lines = io.StringIO(text.getvalue(), newline="")
    assert found == list(csv.reader(lines, delimiter=delimiter, skipinitialspace=True))
    assert numbers == sorted(set(numbers))


def test_lines_are_numbered_as_an_editor_numbers_them():
    piece = read_piece(b'a,b\n\n"c\nc",d\n  \ne,f\n', "utf-8", ",", 1, True)
    assert [(record.line, list(record.cells)) for record in piece.records] == [
        (1, ["a", "b"]), (3, ["c\nc", "d"]), (6, ["e", "f"]),
    ]  # fmt: skip
    assert piece.next_line == 7


def test_a_blank_before_a_quote_does_not_hide_it():
    # Beyond RFC 4180, which counts blanks as part of a cell; programs write them all the same.
    assert cells(b'2026-11-25T20:10Z, "26,1"\n') == [["2026-11-25T20:10Z", "26,1"]]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_lines_may_end_in_any_of_the_usual_ways(end):
    assert cells(end.join(["a;b", "c;d", ""]).encode(), ";") == [["a", "b"], ["c", "d"]]


@pytest.mark.parametrize(
    ("encoding", "name"),
    [("utf-8", "utf-8"), ("utf-8-sig", "utf-8"), ("utf-16", "utf-16-le"), ("latin-1", "latin-1")],
)
def test_encodings_are_told_apart_and_a_mark_of_byte_order_is_no_text(encoding, name):
    data = "Zeit;Wärme °C\n2026-11-25;26,1\n".encode(encoding)
    assert encoding_of(data) == name
    assert cells(data, ";", name)[0] == ["Zeit", "Wärme °C"]


def test_a_character_that_the_piece_cuts_is_no_broken_encoding():
    data = "Wärme;°C\n".encode()
    assert [encoding_of(data[:end]) for end in range(len(data) + 1)] == ["utf-8"] * (len(data) + 1)
    assert encoding_of(b"caf\xe9 ") == "latin-1"


@pytest.mark.parametrize(
    ("text", "delimiter"),
    [
        ("2026-11-25 20:10,26.1\n2026-11-25 20:20,26.2\n", ","),
        ('2026-11-25 20:10,"26,1"\n2026-11-25 20:20,"26,2"\n', ","),
        ("25.11.2026 20:10;26,1\n25.11.2026 20:20;26,2\n", ";"),
        ("25.11.2026 20:10\t26,1\n25.11.2026 20:20\t26,2\n", "\t"),
        ("2026-11-25 20:10|26,1\n2026-11-25 20:20|26,2\n", "|"),
        ("2026-11-25 20:10 26.1\n2026-11-25 20:20 26.2\n", " "),
        ("Logger of the hall tank\ntime,temperature\n" + "2026-11-25T20:10:00Z,26.1\n" * 8, ","),
        ("26.1\n26.2\n", ","),
        ("", ","),
    ],
)
def test_the_delimiter_is_the_one_that_makes_columns(text, delimiter):
    assert delimiter_of(text.encode(), "utf-8") == delimiter


def test_a_quote_that_is_never_closed_costs_its_own_line_alone():
    good = b"".join(b"2026-11-25T20:%02d:00Z,26.1\n" % minute for minute in range(60)) * 20
    piece = read_piece(b'x,"26.1\n' + good, "utf-8", ",", 1, False)
    assert [record.line for record in piece.records if not record.cells] == [1]
    assert len(piece.records) == 1201 and piece.size == len(good) + 8
    last = read_piece(b'a,b\nx,"26.1\nc,d\n', "utf-8", ",", 1, True)
    assert [(record.line, list(record.cells)) for record in last.records] == [(1, ["a", "b"]), (2, []), (3, ["c", "d"])]


def test_a_cell_that_goes_on_in_the_next_piece_is_waited_for_up_to_a_limit():
    half = b'a,b\n"c\n'
    piece = read_piece(half, "utf-8", ",", 1, False)
    assert (len(piece.records), piece.size, piece.next_line) == (1, 4, 2)
    assert read_piece(b'"c\n', "utf-8", ",", 2, False).size == 0
    many = b'"' + b'x\n","' * (LONGEST_RECORD // 5 + 10)
    assert read_piece(many, "utf-8", ",", 1, False).size > 0


def test_a_huge_cell_is_left_out_and_the_rest_is_read():
    data = b"a,b\n" + b"x" * (LONGEST_FIELD + 1) + b",1\nc,d\n"
    assert cells(data) == [["a", "b"], [], ["c", "d"]]


def test_bytes_that_are_no_utf_8_do_not_shift_the_next_piece():
    data = b"a;b\ncaf\xe9;26,1\nd;e\nz"
    piece = read_piece(data, "utf-8", ";", 1, False)
    assert data[piece.size :] == b"z" and len(piece.records) == 3
