"""The shapes in which a file's pieces come in, and what is understood and kept of them goes out."""

from __future__ import annotations

import binascii
from base64 import b64decode
from datetime import datetime
from typing import Any

from marshmallow import Schema, ValidationError, fields, validate, validates_schema

from ..records.instants import from_milliseconds
from ..services import temperature
from ..services.temperature.form import MOST_COLUMNS
from ..services.temperature.sheet import DELIMITERS, ENCODINGS
from ..services.temperature.times import ORDERS
from ..services.temperature.values import UNITS
from .lines import name

PIECE_CHARACTERS = -(-temperature.PIECE_LIMIT_BYTES // 3) * 4
MOST_MS = 10**15


class Octets(fields.String):
    """Bytes of a file in base64 (RFC 4648, 4)."""

    def __init__(self) -> None:
        super().__init__(required=True, metadata={"format": "byte", "maxLength": PIECE_CHARACTERS})

    def _deserialize(self, value, attr, data, **kwargs):
        text = super()._deserialize(value, attr, data, **kwargs)
        try:
            octets = b64decode(text, validate=True)
        except (binascii.Error, ValueError):
            raise ValidationError("This must be base64.") from None
        if len(octets) > temperature.PIECE_LIMIT_BYTES:
            raise ValidationError(f"A piece has at most {temperature.PIECE_LIMIT_BYTES} bytes.")
        return octets


def _column(**more: Any) -> fields.Integer:
    """A column, counted from 0."""
    among = validate.Range(0, MOST_COLUMNS - 1, error=f"Only the first {MOST_COLUMNS} columns of a file are read.")
    return fields.Integer(strict=True, validate=among, **more)


def _one_of(*values: str, **more: Any) -> fields.String:
    return fields.String(validate=validate.OneOf(values), **more)


class ChosenSchema(Schema):
    """What a person has chosen; null where it is left to what the file shows."""

    delimiter = _one_of(*DELIMITERS, load_default=None, allow_none=True)
    has_header = fields.Boolean(load_default=None, allow_none=True)
    time_columns = fields.List(_column(), load_default=None, allow_none=True, validate=validate.Length(1, 2))
    value_column = _column(load_default=None, allow_none=True)
    unit = _one_of(*UNITS, load_default=None, allow_none=True)
    order = _one_of(*ORDERS, load_default=None, allow_none=True)
    clock = _one_of("tank", "utc", load_default="tank")


class FormSchema(Schema):
    """How a file is to be read; what is null has to be chosen before it is."""

    encoding = _one_of(*ENCODINGS, required=True)
    delimiter = _one_of(*DELIMITERS, required=True)
    has_header = fields.Boolean(required=True)
    time_columns = fields.List(_column(), required=True, validate=validate.Length(max=2))
    value_column = _column(required=True, allow_none=True)
    unit = _one_of(*UNITS, required=True, allow_none=True)
    order = _one_of(*ORDERS, required=True, allow_none=True)
    clock = _one_of("tank", "utc", required=True)


class SpotSchema(Schema):
    """Where in the file a piece begins; it comes from the answer to the piece before."""

    offset = fields.Integer(required=True, strict=True, validate=validate.Range(0, temperature.FILE_LIMIT_BYTES))
    line = fields.Integer(required=True, strict=True, validate=validate.Range(1, temperature.FILE_LIMIT_BYTES))
    last_ms = fields.Integer(required=True, allow_none=True, strict=True, validate=validate.Range(-MOST_MS, MOST_MS))
    steps_ms = fields.List(
        fields.Integer(strict=True, validate=validate.Range(-MOST_MS, MOST_MS)),
        required=True,
        validate=validate.Length(max=5),
    )


class PreviewSchema(Schema):
    """The first piece of a file, whether it is all of it, and what was chosen."""

    piece = Octets()
    is_last = fields.Boolean(required=True)
    chosen = fields.Nested(ChosenSchema, required=True)


class ImportSchema(Schema):
    """The next piece of a file, how it is to be read, and what its thermometer is called."""

    piece = Octets()
    is_last = fields.Boolean(required=True)
    thermometer = name()
    form = fields.Nested(FormSchema, required=True)
    spot = fields.Nested(SpotSchema, required=True)

    @validates_schema
    def _is_chosen(self, sent: dict[str, Any], **_: Any) -> None:
        """Nothing is guessed where a person has to choose: °F kept as °C would be believed."""
        form = sent["form"]
        if not form["time_columns"] or form["value_column"] is None or form["unit"] is None:
            raise ValidationError("Choose the columns and the unit first.", "form")


class FileReadingSchema(Schema):
    """A line that was understood."""

    line = fields.Integer(required=True)
    at = fields.AwareDateTime(required=True, format="iso")
    celsius = fields.Float(required=True)


class WrongLineSchema(Schema):
    """A line that is not taken, and why."""

    line = fields.Integer(required=True)
    text = fields.String(required=True)
    why = fields.String(required=True)


class DaySchema(Schema):
    """What a date in figures would mean in one order."""

    order = _one_of(*ORDERS, required=True)
    day = fields.Date(required=True)


class ExampleSchema(Schema):
    """A date of the file that can be read in several orders."""

    text = fields.String(required=True)
    days = fields.List(fields.Nested(DaySchema), required=True)


class UnderstoodSchema(Schema):
    """What is understood of a file; nothing of it is kept yet."""

    form = fields.Nested(FormSchema, required=True)
    is_ready = fields.Boolean(required=True)
    columns = fields.List(fields.String(), required=True)
    columns_more = fields.Integer(required=True)
    cells = fields.List(fields.List(fields.String()), required=True)
    orders = fields.List(fields.String(), required=True)
    example = fields.Nested(ExampleSchema, required=True, allow_none=True)
    rows = fields.List(fields.Nested(FileReadingSchema), required=True)
    wrong = fields.List(fields.Nested(WrongLineSchema), required=True)
    noons = fields.Integer(required=True)


class ImportedSchema(Schema):
    """What became of a piece: the first wrong lines of all, and where the next piece begins."""

    spot = fields.Nested(SpotSchema, required=True)
    taken = fields.Integer(required=True)
    known = fields.Integer(required=True)
    wrong = fields.List(fields.Nested(WrongLineSchema), required=True)
    wrong_count = fields.Integer(required=True)
    repeated = fields.Integer(required=True)
    skipped = fields.Integer(required=True)
    noons = fields.Integer(required=True)


def import_of(sent: dict[str, Any]) -> tuple[temperature.Form, temperature.Spot]:
    """How the piece is to be read, and where it begins."""
    form = temperature.Form(**sent["form"] | {"time_columns": tuple(sent["form"]["time_columns"])})
    spot = sent["spot"]
    place = temperature.Place(spot["last_ms"], tuple(spot["steps_ms"]))
    return form, temperature.Spot(spot["offset"], spot["line"], place)


def imported_answer(imported: temperature.Imported) -> dict[str, Any]:
    """What became of a piece."""
    spot = imported.spot
    return {**vars(imported), "spot": {"offset": spot.offset, "line": spot.line, **vars(spot.place)}}


def understood_answer(understood: temperature.Understood, sifted: temperature.Sifted) -> dict[str, Any]:
    """What is understood of a file."""
    return {
        "form": understood.form,
        "is_ready": understood.is_ready(),
        "columns": understood.columns,
        "columns_more": understood.columns_more,
        "cells": understood.shown_cells(),
        "orders": understood.orders,
        "example": understood.example(),
        "rows": [_row(row) for row in sifted.rows],
        "wrong": sifted.wrong,
        "noons": sifted.noons,
    }


def _row(row: Any) -> dict[str, Any]:
    at: datetime = from_milliseconds(row.at_ms)
    return {"line": row.line, "at": at, "celsius": row.millidegrees / 1000}
