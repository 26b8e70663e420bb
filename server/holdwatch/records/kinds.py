"""The one list of kinds of records and their fields; a new kind needs no migration.

A field is only ever added, never renamed or retyped. A cleared field is null.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from marshmallow import EXCLUDE, Schema, ValidationError, fields, validate

from .instants import BadInstant, parse_instant
from .zones import NoZone, check_zone

SCHEMA_NUMBER = 4
TEXT_LIMIT = 2000
FIRST_YEAR, LAST_YEAR = 1900, 2200
# As far as RFC 3339 and ISO 8601 agree, and every browser reads: ISO alone also knows week dates and no colons.
INSTANT = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}(:[0-9]{2}(\.[0-9]{1,6})?)?(Z|[+-][0-9]{2}:[0-9]{2})"
)
LOCAL_TIME = re.compile(r"([01][0-9]|2[0-3]):[0-5][0-9]")
ID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")
PERSON = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")
_DAY = "(?:MO|TU|WE|TH|FR|SA|SU)"
SHA256 = re.compile(r"[0-9a-f]{64}")
UNSTORABLE = re.compile("[\x00\ud800-\udfff]")
WATCHED_SPECIES = ("amphiprion_ocellaris", "pterapogon_kauderni", "sphaeramia_nematoptera")


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


def _text(limit: int = 120, **kwargs: Any) -> Text:
    return Text(
        allow_none=True, validate=validate.Length(max=limit, error="must be at most {max} characters long"), **kwargs
    )


def _one_of(*values: str) -> Text:
    return Text(allow_none=True, validate=validate.OneOf(values, error="must be one of {choices}"))


def _number(least: float, most: float, **kwargs: Any) -> Number:
    error = "must be between {min} and {max}"
    return Number(allow_none=True, validate=validate.Range(least, most, error=error), **kwargs)


def _count(most: int = 10_000) -> Number:
    bounds = validate.Range(0, most, error="must be between {min} and {max}")
    return Number(allow_none=True, validate=validate.And(bounds, _whole))


def _whole(number: float) -> None:
    if not number.is_integer():
        raise ValidationError("must be a whole number")


def _temperature() -> Number:
    error = "must be between -5 and 45 °C"
    return Number(allow_none=True, validate=validate.Range(-5, 45, error=error), metadata={"unit": "°C"})


def _local_time() -> Text:
    check = validate.Regexp(rf"(?:{LOCAL_TIME.pattern})\Z", error="must be a time of day such as 21:30")
    return Text(allow_none=True, validate=check)


def _person() -> Text:
    check = validate.Regexp(rf"(?:{PERSON.pattern})\Z", error="must be the id of a person")
    return Text(allow_none=True, validate=check)


def _known_zone(name: str) -> None:
    try:
        check_zone(name)
    except NoZone as bad:
        raise ValidationError(str(bad)) from None


class RecordSchema(Schema):
    """Fields that every kind has."""

    class Meta:
        unknown = EXCLUDE

    about = Text(allow_none=True, validate=validate.Regexp(rf"(?:{ID.pattern})\Z", error="must be the id of a record"))
    at = Instant(allow_none=True)
    at_error_min = _number(0, 100_000)
    at_phone = Instant(allow_none=True)
    clock_doubtful = Truth(allow_none=True)
    gone = Truth(allow_none=True)
    separate = Truth(
        allow_none=True, metadata={"description": "an event of its own, though another one looks like the same"}
    )
    note = _text(TEXT_LIMIT)


class TankSchema(RecordSchema):
    """Where fish live, and when its lamps go out and come on."""

    name = _text()
    zone = Text(allow_none=True, validate=_known_zone)
    set_point_c = _temperature()
    lamps_out = _local_time()
    lamps_on = _local_time()
    company = _one_of("alone", "others")
    litres = _number(0, 1_000_000)


class FishSchema(RecordSchema):
    """One fish; `about` is its tank."""

    name = _text()
    species = _one_of(*WATCHED_SPECIES)
    sex = _one_of("male", "female", "unknown")
    spot = _text()
    has_released_before = Truth(allow_none=True)


class BroodSchema(RecordSchema):
    """One hold of one male; `about` is the fish. The spawn lies between `not_before` and `not_after`."""

    not_before = Instant(allow_none=True)
    not_after = Instant(allow_none=True)
    ended = _one_of("caught", "released", "lost", "mistake")
    ended_at = Instant(allow_none=True)
    kept = _count()


class LookSchema(RecordSchema):
    """What somebody saw; `about` is the brood, or the tank while it is unsure which male it was."""

    light = _one_of("daylight", "dim_white", "blue", "red", "none", "torch")
    mouth = _one_of("full", "smaller", "normal")
    eggs = _one_of("orange", "turning", "silver", "none")
    tails = _one_of("seen", "perhaps", "none")
    food = _one_of("ate", "spat", "ignored")
    loose_fry = _one_of("seen", "none")
    clutch = _one_of("there", "gone")
    recalled = Truth(allow_none=True)


class ReadingSchema(RecordSchema):
    """A temperature that somebody read and typed; `about` is the tank."""

    temperature_c = _temperature()
    source = _one_of("typed")


class TrustSchema(RecordSchema):
    """A word on a thermometer's readings of a span, which counts before what the filter says; `about` is the tank."""

    thermometer = _text()
    since = Instant(allow_none=True)
    until = Instant(allow_none=True)
    right = Truth(allow_none=True)


class FeedingSchema(RecordSchema):
    """A normal feeding; `about` is the brood, the fish or the tank."""

    took = _one_of("ate", "spat", "ignored")
    food = _text()


class MarkSchema(RecordSchema):
    """Something that happened to a brood, or what somebody did with a duty."""

    what = _one_of(
        "courtship", "spawning", "caught", "taken", "done", "handed_back", "later", "skipped", "loose_fry_handled"
    )
    eggs = _count()
    yolk = _count()
    free = _count()
    duty = _text(200)
    until = Instant(allow_none=True, metadata={"description": "of `later`: when to say it again"})


class PhotoSchema(RecordSchema):
    """A photograph; `about` is what it shows. Its bytes go up apart, under the SHA-256 of what was uploaded."""

    sha256 = Text(
        allow_none=True, validate=validate.Regexp(rf"(?:{SHA256.pattern})\Z", error="must be 64 hexadecimal digits")
    )
    bytes = _count(100_000_000)
    width = _count()
    height = _count()


class AbsenceSchema(RecordSchema):
    """Somebody is not at home; `person` is his id."""

    person = _person()
    since = Instant(allow_none=True)
    until = Instant(allow_none=True)


class RotaSchema(RecordSchema):
    """Whose turn it is on which days of the week; `person` is his id, `weekdays` a list as BYDAY of RFC 5545 has it."""

    person = _person()
    weekdays = Text(
        allow_none=True,
        validate=validate.Regexp(rf"(?:(?:{_DAY}(?:,{_DAY})*)?)\Z", error="must be days such as TU,TH"),
    )


KINDS: Mapping[str, Schema] = {
    "tank": TankSchema(),
    "fish": FishSchema(),
    "brood": BroodSchema(),
    "look": LookSchema(),
    "reading": ReadingSchema(),
    "trust": TrustSchema(),
    "feeding": FeedingSchema(),
    "mark": MarkSchema(),
    "photo": PhotoSchema(),
    "absence": AbsenceSchema(),
    "rota": RotaSchema(),
}

# What a helper may not touch; nor may a helper take a record away.
KEEPERS_KINDS = frozenset({"tank", "fish", "trust"})


def unknown_fields(kind: str, names: Mapping[str, Any]) -> list[str]:
    """The names that this kind does not have (yet)."""
    known = KINDS[kind].fields.keys()
    return [] if names.keys() <= known else sorted(names.keys() - known)


def unknown_choices(kind: str, values: Mapping[str, Any]) -> list[str]:
    """Names of fields that are to hold one of several words, and hold a word that this kind does not have (yet)."""
    known = KINDS[kind].fields
    return sorted(
        name
        for name, value in values.items()
        for check in (known[name].validators if name in known and isinstance(value, str) else ())
        if isinstance(check, validate.OneOf) and value not in check.choices
    )


def faults(kind: str, values: Mapping[str, Any]) -> list[str]:
    """What is wrong with these values, one line a field; unknown fields are left aside."""
    return [
        f"{name}: {'; '.join(map(str, messages)) if isinstance(messages, list) else messages}"
        for name, messages in KINDS[kind].validate(dict(values)).items()
    ]
