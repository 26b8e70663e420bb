"""The fields that records are made of: what each takes, and what it says of what it does not take."""

from __future__ import annotations

import re
from typing import Any

from marshmallow import ValidationError, fields, validate

from .instants import BadInstant, parse_instant
from .zones import NoZone, check_zone

TEXT_LIMIT = 2000
FIRST_YEAR, LAST_YEAR = 1900, 2200
# As far as RFC 3339 and ISO 8601 agree, and every browser reads: ISO alone also knows week dates and no colons.
INSTANT = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}(:[0-9]{2}(\.[0-9]{1,6})?)?(Z|[+-][0-9]{2}:[0-9]{2})"
)
LOCAL_TIME = re.compile(r"([01][0-9]|2[0-3]):[0-5][0-9]")
ID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")
PERSON = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")
SHA256 = re.compile(r"[0-9a-f]{64}")
UNSTORABLE = re.compile("[\x00\ud800-\udfff]")


class Text(fields.String):
    """Text for people: no NUL, which JSONB refuses, and no half of a surrogate pair, which UTF-8 refuses."""

    default_error_messages = {"invalid": "must be text"}

    def _deserialize(self, value, attr, data, **kwargs):
        text = super()._deserialize(value, attr, data, **kwargs)
        if UNSTORABLE.search(text):
            raise ValidationError("holds a character that cannot be stored")
        return text


class Number(fields.Float):
    """A number, and nothing that only looks like one: no text, no truth value, no infinity."""

    default_error_messages = dict.fromkeys(("special", "too_large"), "must be a number that a scale could show")

    def _deserialize(self, value, attr, data, **kwargs):
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ValidationError("must be a number")
        return super()._deserialize(value, attr, data, **kwargs)


class Truth(fields.Boolean):
    """True or false, written so."""

    def _deserialize(self, value, attr, data, **kwargs):
        if not isinstance(value, bool):
            raise ValidationError("must be true or false")
        return value


class Instant(fields.String):
    """An instant with its offset from UTC; kept as it was written, so that copies stay equal."""

    def _deserialize(self, value, attr, data, **kwargs):
        try:
            year = parse_instant(value).year
        except BadInstant as bad:
            raise ValidationError(str(bad)) from None
        if not FIRST_YEAR <= year <= LAST_YEAR:
            raise ValidationError(f"must lie in the years {FIRST_YEAR} to {LAST_YEAR}")
        if not INSTANT.fullmatch(value):
            raise ValidationError("must be written as 2026-11-25T20:10:00Z or 2026-11-25T20:10:00+01:00")
        return value


def text(limit: int = 120, **kwargs: Any) -> Text:
    """Text of so many characters at most."""
    return Text(
        allow_none=True, validate=validate.Length(max=limit, error="must be at most {max} characters long"), **kwargs
    )


def one_of(*values: str) -> Text:
    """One of these words."""
    return Text(allow_none=True, validate=validate.OneOf(values, error="must be one of {choices}"))


def number(least: float, most: float, **kwargs: Any) -> Number:
    """A number between these, both included."""
    error = "must be between {min} and {max}"
    return Number(allow_none=True, validate=validate.Range(least, most, error=error), **kwargs)


def count(most: int = 10_000) -> Number:
    """How many, from none to `most`."""
    bounds = validate.Range(0, most, error="must be between {min} and {max}")
    return Number(allow_none=True, validate=validate.And(bounds, _whole))


def _whole(number: float) -> None:
    if not number.is_integer():
        raise ValidationError("must be a whole number")


def temperature() -> Number:
    """A temperature that water may have, in °C."""
    error = "must be between -5 and 45 °C"
    return Number(allow_none=True, validate=validate.Range(-5, 45, error=error), metadata={"unit": "°C"})


def local_time() -> Text:
    """A time of day, as a clock on a wall shows it."""
    check = validate.Regexp(rf"(?:{LOCAL_TIME.pattern})\Z", error="must be a time of day such as 21:30")
    return Text(allow_none=True, validate=check)


def person_id() -> Text:
    """The id of a person."""
    check = validate.Regexp(rf"(?:{PERSON.pattern})\Z", error="must be the id of a person")
    return Text(allow_none=True, validate=check)


def known_zone(name: str) -> None:
    """Refuse what is no time zone that we know; ValidationError."""
    try:
        check_zone(name)
    except NoZone as bad:
        raise ValidationError(str(bad)) from None


def record_id() -> Text:
    """The id of another record."""
    check = validate.Regexp(rf"(?:{ID.pattern})\Z", error="must be the id of a record")
    return Text(allow_none=True, validate=check)
