"""Whether a value is right, by a small function a field: compiled once from the schemas of the kinds.

A push has thousands of values, and nearly all of them are right. These functions say so at a glance, and what they say
is what marshmallow would; where something is wrong it is marshmallow that finds the words.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from math import isfinite
from typing import Any

from marshmallow import ValidationError, fields, validate

from . import kinds
from .fields import UNSTORABLE, Instant, Number, Text, Truth
from .kinds import KINDS

Check = Callable[[Any], Any]
"""Takes a value; what it returns is true where the value is right."""


def compiled(field: fields.Field) -> Check:
    """The checker of one field: true for what the field takes."""
    tests = [test for validator in field.validators for test in _tests(validator)]
    # A cleared field is null, so the checkers below take None without asking.
    if field.allow_none and type(field) in SHAPES and not field.pre_load:
        return SHAPES[type(field)](field, _all(tests))
    return _asking(field.deserialize)


def faults(kind: str, values: Mapping[str, Any]) -> list[str]:
    """What is wrong with these values, one line a field; unknown fields are left aside."""
    checkers = CHECKERS[kind]
    for name, value in values.items():
        check = checkers.get(name)
        if check is not None and not check(value):
            return kinds.faults(kind, values)
    return []


def _text(field: fields.Field, fits: Check) -> Check:
    def check(value: Any) -> Any:
        if type(value) is not str:
            return value is None
        # What can be printed has neither NUL nor half a pair in it, and is told fastest.
        return (value.isprintable() or not UNSTORABLE.search(value)) and fits(value)

    only = field.validators[0] if len(field.validators) == 1 else None
    return _choice(frozenset(only.choices)) if type(only) is validate.OneOf else check


def _choice(choices: frozenset[str]) -> Check:
    return lambda value: value in choices if type(value) is str else value is None


def _number(field: fields.Field, fits: Check) -> Check:
    def check(value: Any) -> Any:
        if type(value) is not float and type(value) is not int:
            return value is None
        try:
            number = float(value)
        except OverflowError:
            return False
        return isfinite(number) and fits(number)

    return check


def _truth(field: fields.Field, fits: Check) -> Check:
    return lambda value: value is None or type(value) is bool and fits(value)


def _instant(field: fields.Field, fits: Check) -> Check:
    deserialize = field._deserialize

    def check(value: Any) -> Any:
        if value is None:
            return True
        try:
            return fits(deserialize(value, None, None))
        except ValidationError:
            return False

    return check


def _all(tests: Sequence[Check]) -> Check:
    if len(tests) == 1:
        return tests[0]
    return lambda value: all(test(value) for test in tests)


def _tests(validator: Any) -> Iterator[Check]:
    if isinstance(validator, validate.And):
        for part in validator.validators:
            yield from _tests(part)
    elif type(validator) is validate.OneOf:
        yield frozenset(validator.choices).__contains__
    elif type(validator) is validate.Regexp:
        yield validator.regex.match
    else:
        yield _asking(validator)


def _asking(deserialize: Callable[[Any], Any]) -> Check:
    """What marshmallow would say."""

    def check(value: Any) -> bool:
        try:
            deserialize(value)
        except ValidationError:
            return False
        return True

    return check


SHAPES: Mapping[type, Callable[[fields.Field, Check], Check]] = {
    Text: _text,
    Number: _number,
    Truth: _truth,
    Instant: _instant,
}

CHECKERS: Mapping[str, Mapping[str, Check]] = {
    kind: {name: compiled(field) for name, field in schema.fields.items()} for kind, schema in KINDS.items()
}
