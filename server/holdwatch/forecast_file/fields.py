"""The fields of a brood's file: strict about what they take, and plain about what they do not."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime, time
from typing import Any

from marshmallow import Schema, ValidationError, fields, validate

from ..records.fields import FIRST_YEAR, LAST_YEAR, LOCAL_TIME, UNSTORABLE

LONGEST_TEXT = 100
EVERY: dict[str, Any] = {"required": "is missing.", "null": "must not be null."}


def shown(value: Any) -> str:
    """A value as it was given, in one line that is not too long."""
    text = repr(value)
    return text if len(text) <= 60 else f"{text[:60]}…"


class Part(Schema):
    """An object in the file; a name that it does not know is a fault, with the ones it knows."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        self.error_messages["unknown"] = f"is not known here; known are {', '.join(self.fields)}."
        self.error_messages["type"] = "must be an object in braces."


class Inside(fields.Nested):
    """An object inside another."""

    default_error_messages = EVERY


class Several(fields.List):
    """A list of objects, at most so many."""

    default_error_messages = {**EVERY, "invalid": "must be a list in brackets."}

    def __init__(self, part: type[Part], most: int) -> None:
        limit = validate.Length(max=most, error="has more than the {max} entries that can be used.")
        super().__init__(Inside(part), load_default=list, validate=limit)


class Text(fields.String):
    """A short text."""

    default_error_messages = {**EVERY, "invalid": "must be text."}

    def _deserialize(self, value: Any, *rest: Any, **named: Any) -> Any:
        text = super()._deserialize(value, *rest, **named)
        if len(text) > LONGEST_TEXT or UNSTORABLE.search(text):
            raise ValidationError(f"must be ordinary text of at most {LONGEST_TEXT} characters.")
        return text


class OneOf(Text):
    """One of a few words."""

    def __init__(self, values: Sequence[str], **options: Any) -> None:
        super().__init__(**options)
        self.values = values

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> Any:
        if value not in self.values:
            raise ValidationError(f"{shown(value)} is none of {', '.join(self.values)}.")
        return value


class YesOrNo(fields.Field[bool]):
    """True or false, written so."""

    default_error_messages = EVERY

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> bool:
        if not isinstance(value, bool):
            raise ValidationError(f"{shown(value)} is neither true nor false.")
        return value


class Instant(fields.Field[datetime]):
    """An instant in ISO 8601 with its offset."""

    default_error_messages = EVERY

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> datetime:
        try:
            at = datetime.fromisoformat(value)
        except (TypeError, ValueError) as bad:
            raise ValidationError(f"{shown(value)} is not an instant like 2026-03-20T21:40:00+01:00.") from bad
        if at.utcoffset() is None:
            raise ValidationError(f"{shown(value)} has no time zone: add an offset such as +01:00 or Z.")
        if not FIRST_YEAR <= at.year <= LAST_YEAR:
            raise ValidationError(f"{shown(value)} lies outside the years {FIRST_YEAR} to {LAST_YEAR}.")
        return at


class LocalTime(fields.Field[time]):
    """A local time of day, HH:MM."""

    default_error_messages = EVERY

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> time:
        if not isinstance(value, str) or not re.fullmatch(LOCAL_TIME, value):
            raise ValidationError(f"{shown(value)} is not a local time like 21:30.")
        return time.fromisoformat(value)


class Amount(fields.Field[float]):
    """A number from `lowest` to `highest`, never a text or a yes."""

    default_error_messages = EVERY

    def __init__(self, lowest: float = 0, highest: float = 100_000) -> None:
        super().__init__(required=True)
        self.lowest, self.highest = lowest, highest

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise ValidationError(f"{shown(value)} is not a number.")
        if not self.lowest <= value <= self.highest:
            raise ValidationError(f"{str(value)[:20]} is outside {self.lowest:g} to {self.highest:g}.")
        return value


class Count(Amount):
    """A whole number from 0."""

    def _deserialize(self, value: Any, *rest: Any, **named: Any) -> float:
        if isinstance(value, float) and not value.is_integer():
            raise ValidationError(f"{value:g} is not a whole number.")
        return int(super()._deserialize(value, *rest, **named))
