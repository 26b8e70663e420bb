"""Imports a file piece by piece: what can be read is kept, and every line that cannot is named with its reason."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import NamedTuple
from zoneinfo import ZoneInfo

import numpy as np
import sqlalchemy as sa

from ...records.instants import milliseconds
from ..access import Who
from ..watched_water import look_at_water, look_at_water_soon
from .form import MOST_SHOWN, Form, Understood, cell, shown_text
from .keeping import AHEAD, KNOWN, NEW, OTHER, keep_readings
from .local import Place, TankClock
from .sheet import UNREADABLE, Record, read_piece
from .tanks import require_keeper, tank_of
from .times import BadTime, read_time
from .values import BadTemperature, read_celsius

FILE_LIMIT_BYTES = 100 * 1024 * 1024
PIECE_LIMIT_BYTES = 256 * 1024
MOST_WRONG = 200
OTHER_VALUE = "another value is kept for this instant; the first one stays"


@dataclass(frozen=True)
class Wrong:
    """A line that was not taken."""

    line: int
    text: str
    why: str


class Row(NamedTuple):
    """A reading of a file."""

    line: int
    at_ms: int
    millidegrees: int


@dataclass
class Sifted:
    """The records of a piece, read: the readings, the lines that are none, and what their times were like."""

    rows: list[Row] = field(default_factory=list)
    wrong: list[Wrong] = field(default_factory=list)
    repeated: int = 0
    skipped: int = 0
    noons: int = 0


@dataclass(frozen=True)
class Spot:
    """Where in the file a piece begins."""

    offset: int = 0
    line: int = 1
    place: Place = Place()


@dataclass(frozen=True)
class Imported:
    """What became of a piece; `wrong` holds the first of `wrong_count` lines, `spot` is where the next one begins."""

    spot: Spot
    taken: int
    known: int
    wrong: tuple[Wrong, ...]
    wrong_count: int
    repeated: int
    skipped: int
    noons: int


def sift(records: Iterable[Record], form: Form, clock: TankClock, now: datetime) -> Sifted:
    """Read records as the form says, in their order."""
    found = Sifted()
    latest = milliseconds(now + AHEAD)
    for record in records:
        try:
            found.rows.append(_row(record, form, clock, latest, found))
        except (BadTime, BadTemperature) as bad:
            found.wrong.append(Wrong(record.line, shown_text(" | ".join(record.cells)), str(bad)))
    return found


def preview_rows(understood: Understood, zone: str, now: datetime) -> Sifted:
    """The first rows of a file, as they would be taken; nothing is kept."""
    if not understood.is_ready():
        return Sifted()
    clock = TankClock(ZoneInfo(zone), Place())
    return sift(understood.table()[:MOST_SHOWN], understood.form, clock, now)


def parse_piece(data: bytes, form: Form, spot: Spot, is_last: bool, zone: str, now: datetime) -> tuple[Sifted, Spot]:
    """Read a piece, and say where the next one begins."""
    piece = read_piece(data, form.encoding, form.delimiter, spot.line, is_last)
    records = piece.records[1:] if form.has_header and spot.offset == 0 else piece.records
    clock = TankClock(ZoneInfo(zone), spot.place)
    found = sift(records, form, clock, now)
    return found, Spot(spot.offset + piece.size, piece.next_line, clock.place)


@dataclass(frozen=True)
class Aim:
    """Whose readings a file holds: the tank, and the name of the thermometer."""

    household_id: str
    tank_id: str
    thermometer: str


def aim_at(db: sa.Connection, who: Who, tank_id: str, thermometer: str) -> Aim:
    """The tank that a file is for; NotAllowed for a helper, NotFound where it is none of the household's."""
    require_keeper(who)
    tank_of(db, who.household_id, tank_id)
    return Aim(who.household_id, tank_id, thermometer)


def keep_piece(db: sa.Connection, aim: Aim, found: Sifted, after: Spot, is_last: bool, now: datetime) -> Imported:
    """Keep the readings of a piece; those that are there already are not kept twice."""
    outcome = np.zeros(0, dtype=np.int64)
    if found.rows:
        at_ms = np.fromiter((row.at_ms for row in found.rows), dtype=np.int64, count=len(found.rows))
        millidegrees = np.fromiter((row.millidegrees for row in found.rows), dtype=np.int64, count=len(found.rows))
        outcome = keep_readings(db, aim.household_id, aim.tank_id, aim.thermometer, at_ms, millidegrees)
    ask = look_at_water if is_last else look_at_water_soon
    ask(db, aim.household_id, aim.tank_id, now)
    wrong = sorted([*found.wrong, *_others(found.rows, outcome)], key=lambda one: one.line)
    return Imported(
        spot=after,
        taken=int(np.count_nonzero(outcome == NEW)),
        known=int(np.count_nonzero(outcome == KNOWN)),
        wrong=tuple(wrong[:MOST_WRONG]),
        wrong_count=len(wrong),
        repeated=found.repeated,
        skipped=found.skipped,
        noons=found.noons,
    )


def _row(record: Record, form: Form, clock: TankClock, latest: int, found: Sifted) -> Row:
    if not record.cells:
        raise BadTime(UNREADABLE)
    if form.value_column is None or form.value_column >= len(record.cells):
        raise BadTemperature("there are too few columns")
    if form.unit is None:
        raise BadTemperature("its unit has not been chosen")
    told = read_time(cell(record.cells, form.time_columns), form.order)
    millidegrees = read_celsius(record.cells[form.value_column].strip(), form.unit)
    at = told.at if told.at.tzinfo or form.clock == "tank" else told.at.replace(tzinfo=UTC)
    at_ms, kind = clock.instant_ms(at)
    if at_ms > latest:
        raise BadTime("this lies in the future")
    if at_ms < 0:
        raise BadTime("this lies before 1970")
    found.noons += told.is_noon
    found.repeated += kind == "repeated"
    found.skipped += kind == "skipped"
    return Row(record.line, at_ms, millidegrees)


def _others(rows: Sequence[Row], outcome: np.ndarray) -> Iterable[Wrong]:
    for place in np.flatnonzero(outcome == OTHER).tolist():
        row = rows[place]
        yield Wrong(row.line, f"{row.millidegrees / 1000:g} °C", OTHER_VALUE)


