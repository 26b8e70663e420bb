"""Tables as text, read piece by piece: in which encoding, cut by which delimiter, and the records that are whole.

What a record is, is left to Python's csv module (RFC 4180 and its common relatives; blanks before a cell are dropped).
A piece ends wherever its sender cut it, so its last record is read only where it is known to be whole.
"""

from __future__ import annotations

import codecs
import csv
import io
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain
from typing import NamedTuple

# Each with what makes a file of it come out the same when it is written again, whatever bytes are in it.
UTF_16 = {"utf-16-le": "surrogatepass", "utf-16-be": "surrogatepass"}
ENCODINGS = {"utf-8": "surrogateescape", **UTF_16, "latin-1": "strict"}
BYTE_ORDER_MARKS = {codecs.BOM_UTF8: "utf-8", codecs.BOM_UTF16_LE: "utf-16-le", codecs.BOM_UTF16_BE: "utf-16-be"}
# In the order in which they are believed: a comma and a blank also stand within numbers, dates and texts.
DELIMITERS = ("\t", ";", "|", ",", " ")
SNIFFED_LINES = 60
AGREEING = 0.7
LONGEST_FIELD, LONGEST_RECORD = 10_000, 50_000
# A character that no text may hold (Unicode 15, section 23.7), so that no file can say it first.
END = "\ufdd0"
UNREADABLE = "a quote is opened here and not closed"

csv.field_size_limit(LONGEST_FIELD)


class Record(NamedTuple):
    """One record and the number of its first line in the file, from 1; without cells where it cannot be read."""

    line: int
    cells: Sequence[str]


@dataclass(frozen=True)
class Piece:
    """The whole records of a piece of a file, how many of its bytes they are, and the number of the next line."""

    records: list[Record]
    size: int
    next_line: int


def encoding_of(data: bytes) -> str:
    """The encoding of a file, by its first bytes; what is not UTF-8 is taken for that of older programs."""
    for mark, encoding in BYTE_ORDER_MARKS.items():
        if data.startswith(mark):
            return encoding
    try:
        codecs.getincrementaldecoder("utf-8")().decode(data, final=False)
    except UnicodeDecodeError:
        return "latin-1"
    return "utf-8"


def delimiter_of(data: bytes, encoding: str) -> str:
    """The first delimiter that cuts most lines into the same number of two or more cells; else a comma."""
    lines = [line for line in _lines(_decoded(data, encoding)[0]) if line.strip()][:SNIFFED_LINES]
    return next((delimiter for delimiter in DELIMITERS if _agree(lines, delimiter)), ",")


def read_piece(data: bytes, encoding: str, delimiter: str, line: int, is_last: bool) -> Piece:
    """Read the whole records of a piece that begins with line number `line`; of the last piece all of them.

    Blank records are left out; one that cannot be read comes without cells.
    """
    text, cut = _decoded(data, encoding)
    lines = _lines(text)
    # Without its end the last line is not whole, and after a bare carriage return a line feed may follow.
    tail = [lines.pop()] if lines and not is_last and not lines[-1].endswith("\n") else []
    bare = [lines[0].removeprefix("\ufeff"), *lines[1:]] if line == 1 and lines else lines
    records, count = _records(bare, delimiter, line, is_last)
    rest = "".join(lines[count:] + tail).encode(encoding, ENCODINGS[encoding])
    size = len(data) if is_last else len(data) - cut - len(rest)
    return Piece(records, size, line + count)


def _decoded(data: bytes, encoding: str) -> tuple[str, int]:
    """The text, and how many bytes at the end are the beginning of a character that was cut."""
    decoder = codecs.getincrementaldecoder(encoding)(ENCODINGS[encoding])
    return decoder.decode(data, final=False), len(decoder.getstate()[0])


def _lines(text: str) -> list[str]:
    # Not splitlines, which also ends a line at a form feed and at other characters that a cell may hold.
    return list(io.StringIO(text, newline=""))


def _agree(lines: Sequence[str], delimiter: str) -> bool:
    try:
        counts = Counter(map(len, _reader(lines, delimiter)))
    except csv.Error:
        return False
    cells, how_many = counts.most_common(1)[0] if counts else (0, 0)
    # A title over the table has cells of its own number, and says nothing against it.
    return cells >= 2 and how_many >= AGREEING * sum(counts.values())


def _records(lines: Sequence[str], delimiter: str, first_line: int, is_last: bool) -> tuple[list[Record], int]:
    """The whole records, and how many lines they are."""
    records: list[Record] = []
    read = 0
    while read < len(lines):
        end, is_cut = _run(lines, read, delimiter, first_line, records)
        if end == len(lines) or (is_cut and not is_last and _is_short(lines[end:])):
            return records, end
        # An open quote would swallow all that follows, so its line is left out alone.
        records.append(Record(first_line + end, ()))
        read = end + 1
    return records, read


def _run(
    lines: Sequence[str], start: int, delimiter: str, first_line: int, records: list[Record]
) -> tuple[int, bool]:
    """Add the records from a line on until one is not whole; its line, and whether only the piece's end cut it."""
    reader = _reader(chain(lines[start:], [END]), delimiter)
    first = start
    try:
        for cells in reader:
            if first == len(lines):
                break
            if reader.line_num > len(lines) - start:
                return first, True
            if any(map(str.strip, cells)):
                records.append(Record(first_line + first, cells))
            first = start + reader.line_num
    except csv.Error:
        return first, False
    return first, False


def _is_short(lines: Sequence[str]) -> bool:
    return sum(map(len, lines)) < LONGEST_RECORD


def _reader(lines, delimiter: str):
    return csv.reader(lines, delimiter=delimiter, skipinitialspace=True)
