"""How a file is to be read, and what can be understood of that from its first piece."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from typing import Literal

from .sheet import Record, delimiter_of, encoding_of, read_piece
from .times import ORDERS, BadTime, NeedsOrder, Order, needs_order, orders_of, read_time
from .values import UNITS, BadTemperature, read_celsius

Clock = Literal["tank", "utc"]
MOST_COLUMNS = 100
"""So many columns of a file are read: as many as a person can still choose from."""
SAMPLE = 400
MOSTLY = 0.6
MOST_SHOWN = 8
MOST_CHARACTERS = 120


@dataclass(frozen=True)
class Form:
    """How a file is to be read; what is None has to be chosen by a person."""

    encoding: str
    delimiter: str
    has_header: bool
    time_columns: tuple[int, ...]
    value_column: int | None
    unit: str | None
    order: Order | None
    clock: Clock = "tank"


@dataclass(frozen=True)
class Day:
    """What a date in figures means in one order."""

    order: Order
    day: date


@dataclass(frozen=True)
class Example:
    """A date of the file that can be read in several orders."""

    text: str
    days: tuple[Day, ...]


@dataclass(frozen=True)
class Understood:
    """What the first piece of a file shows: its form, its columns, and the orders that its dates leave open."""

    form: Form
    columns: tuple[str, ...]
    columns_more: int
    """How many columns stand beyond those that are read."""
    orders: tuple[Order, ...]
    records: tuple[Record, ...]

    def is_ready(self) -> bool:
        """Whether nothing is left to be chosen."""
        form = self.form
        chosen = bool(form.time_columns) and form.value_column is not None and form.unit is not None
        return chosen and (form.order is not None or not self.orders)

    def table(self) -> tuple[Record, ...]:
        """The records without the names of the columns."""
        return self.records[1:] if self.form.has_header else self.records

    def shown_cells(self) -> list[list[str]]:
        """The first rows cell by cell, as people are shown them."""
        width = len(self.columns)
        return [[shown_text(text) for text in record.cells[:width]] for record in self.table()[:MOST_SHOWN]]

    def example(self) -> Example | None:
        """The first date that is another day in another of the open orders."""
        texts = (cell(record.cells, self.form.time_columns) for record in self.table())
        examples = (Example(shown_text(text), _days(text, self.orders)) for text in texts)
        return next((one for one in examples if len({day.day for day in one.days}) > 1), None)


@dataclass(frozen=True)
class Choices:
    """What a person has chosen already; None where it is left to what the file shows."""

    delimiter: str | None = None
    has_header: bool | None = None
    time_columns: tuple[int, ...] | None = None
    value_column: int | None = None
    unit: str | None = None
    order: Order | None = None
    clock: Clock = "tank"


def understand(data: bytes, is_last: bool, chosen: Choices) -> Understood:
    """Understand the first piece of a file, as far as no choice was made."""
    encoding = encoding_of(data)
    delimiter = chosen.delimiter or delimiter_of(data, encoding)
    records = read_piece(data, encoding, delimiter, 1, is_last).records
    rows = [record.cells for record in records]
    header = _has_header(rows[:SAMPLE]) if chosen.has_header is None else chosen.has_header
    whole = rows[1:] if header else rows
    table = whole[:SAMPLE]
    widest = max(map(len, rows), default=0)
    width = min(MOST_COLUMNS, widest)
    time_columns = _within(chosen.time_columns, width) or _time_columns(table, width)
    value_column = chosen.value_column if chosen.value_column is not None and chosen.value_column < width else None
    if value_column is None:
        value_column = _value_column(table, width, time_columns)
    names = _names(rows[0] if header and rows else (), width)
    # Of these all count: the thirteenth of a month may come late.
    orders = _open_orders(whole, time_columns)
    form = Form(
        encoding=encoding,
        delimiter=delimiter,
        has_header=header,
        time_columns=time_columns,
        value_column=value_column,
        unit=chosen.unit or _said_unit(table, names, value_column),
        order=chosen.order or (orders[0] if len(orders) == 1 else None),
        clock=chosen.clock,
    )
    return Understood(form, names, widest - width, orders, tuple(records))


def cell(cells: Sequence[str], columns: Sequence[int]) -> str:
    """What stands in these columns, with a blank between; nothing where the record is too short."""
    if len(columns) == 1 and columns[0] < len(cells):
        return cells[columns[0]].strip()
    return " ".join(cells[column].strip() for column in columns if column < len(cells))


def shown_text(text: str) -> str:
    """A cell or a record as people are shown it: in one line and shortened."""
    return "".join(character if character.isprintable() else "\u00b7" for character in text.strip()[:MOST_CHARACTERS])


def _days(text: str, orders: Sequence[Order]) -> tuple[Day, ...]:
    days = []
    for order in orders:
        with suppress(BadTime):
            days.append(Day(order, read_time(text, order).at.date()))
    return tuple(days)


def _within(columns: tuple[int, ...] | None, width: int) -> tuple[int, ...]:
    return tuple(column for column in columns or () if column < width)


def _has_header(rows: Sequence[Sequence[str]]) -> bool:
    """Whether the first row holds neither a time nor a number, and another does."""
    if not rows or any(_is_time(text) or _is_number(text) for text in rows[0]):
        return False
    return any(_is_time(text) or _is_number(text) for row in rows[1:] for text in row)


def _time_columns(table: Sequence[Sequence[str]], width: int) -> tuple[int, ...]:
    """The first column of dates with times; or one of dates alone and the one of times of day beside it."""
    for column in range(width):
        if not _mostly(table, (column,), _is_time):
            continue
        if column + 1 < width and not _mostly(table, (column,), _has_clock):
            joined = (column, column + 1)
            if _mostly(table, joined, _has_clock):
                return joined
        return (column,)
    return ()


def _value_column(table: Sequence[Sequence[str]], width: int, taken: Sequence[int]) -> int | None:
    """The only column of numbers beside the time; None where there are several to choose from, or none."""
    numbers = [column for column in range(width) if column not in taken and _mostly(table, (column,), _is_number)]
    return numbers[0] if len(numbers) == 1 else None


def _names(header: Sequence[str], width: int) -> tuple[str, ...]:
    return tuple(shown_text(header[column]) if column < len(header) else "" for column in range(width))


def _said_unit(table: Sequence[Sequence[str]], names: Sequence[str], column: int | None) -> str | None:
    """The unit that the column's name or its cells name; None where they name none or several."""
    if column is None:
        return None
    told = [names[column], *(cell(row, (column,)) for row in table[:20])]
    named = {unit for text in told for unit in UNITS if text.upper().replace(" ", "").endswith(_endings(unit))}
    return named.pop() if len(named) == 1 else None


def _endings(unit: str) -> tuple[str, ...]:
    return (f"°{unit}", f"(°{unit})", f"[°{unit}]", f"({unit})", f"[{unit}]", f"_{unit}", f"º{unit}", *(
        f"{figure}{unit}" for figure in "0123456789"
    ))  # fmt: skip


def _open_orders(table: Sequence[Sequence[str]], columns: Sequence[int]) -> tuple[Order, ...]:
    """The orders that all dates shown agree with, if any of them needs one; all where they agree with none."""
    texts = [cell(row, columns) for row in table]
    return (orders_of(texts) or ORDERS) if needs_order(texts) else ()


def _mostly(table: Sequence[Sequence[str]], columns: Sequence[int], is_so) -> bool:
    shown = [text for row in table if (text := cell(row, columns))]
    return bool(shown) and sum(map(is_so, shown)) >= MOSTLY * len(shown)


def _is_time(text: str) -> bool:
    try:
        return read_time(text.strip(), None) is not None
    except NeedsOrder:
        return True
    except BadTime:
        return False


def _has_clock(text: str) -> bool:
    for order in ORDERS:
        with suppress(BadTime):
            return not read_time(text.strip(), order).is_noon
    return False


def _is_number(text: str) -> bool:
    for unit in UNITS:
        with suppress(BadTemperature):
            read_celsius(text.strip(), unit)
            return True
    return False
