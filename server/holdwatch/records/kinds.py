"""The one list of kinds of records and their fields; a new kind needs no migration.

A field is only ever added, never renamed or retyped. A cleared field is null.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from marshmallow import EXCLUDE, Schema, validate

from .fields import (
    SHA256,
    TEXT_LIMIT,
    Instant,
    Text,
    Truth,
    count,
    known_zone,
    local_time,
    number,
    one_of,
    person_id,
    record_id,
    temperature,
    text,
)

SCHEMA_NUMBER = 5
FOODS = ("brine_shrimp", "rotifers", "copepods", "frozen", "dry")
HOW_COUNTED = ("exact", "about", "at_least")
WATCHED_SPECIES = ("amphiprion_ocellaris", "pterapogon_kauderni", "sphaeramia_nematoptera")
_DAY = "(?:MO|TU|WE|TH|FR|SA|SU)"


class RecordSchema(Schema):
    """Fields that every kind has."""

    class Meta:
        unknown = EXCLUDE

    about = record_id()
    at = Instant(allow_none=True)
    at_error_min = number(0, 100_000)
    at_phone = Instant(allow_none=True)
    clock_doubtful = Truth(allow_none=True)
    gone = Truth(allow_none=True)
    separate = Truth(
        allow_none=True, metadata={"description": "an event of its own, though another one looks like the same"}
    )
    note = text(TEXT_LIMIT)


class TankSchema(RecordSchema):
    """Where fish live, and when its lamps go out and come on."""

    name = text()
    zone = Text(allow_none=True, validate=known_zone)
    set_point_c = temperature()
    lamps_out = local_time()
    lamps_on = local_time()
    company = one_of("alone", "others")
    litres = number(0, 1_000_000)


class FishSchema(RecordSchema):
    """One fish; `about` is its tank."""

    name = text()
    species = one_of(*WATCHED_SPECIES)
    sex = one_of("male", "female", "unknown")
    spot = text()
    has_released_before = Truth(allow_none=True)


class BroodSchema(RecordSchema):
    """One hold of one male; `about` is the fish. The spawn lies between `not_before` and `not_after`."""

    not_before = Instant(allow_none=True)
    not_after = Instant(allow_none=True)
    ended = one_of("caught", "released", "lost", "mistake")
    ended_at = Instant(allow_none=True)
    kept = count()


class LookSchema(RecordSchema):
    """What somebody saw; `about` is the brood, or the tank while it is unsure which male it was."""

    light = one_of("daylight", "dim_white", "blue", "red", "none", "torch")
    mouth = one_of("full", "smaller", "normal")
    eggs = one_of("orange", "turning", "silver", "none")
    tails = one_of("seen", "perhaps", "none")
    food = one_of("ate", "spat", "ignored")
    loose_fry = one_of("seen", "none")
    clutch = one_of("there", "gone")
    recalled = Truth(allow_none=True)


class ReadingSchema(RecordSchema):
    """A temperature that somebody read and typed; `about` is the tank."""

    temperature_c = temperature()
    source = one_of("typed")


class TrustSchema(RecordSchema):
    """A word on a thermometer's readings of a span, which counts before what the filter says; `about` is the tank."""

    thermometer = text()
    since = Instant(allow_none=True)
    until = Instant(allow_none=True)
    right = Truth(allow_none=True)


class FeedingSchema(RecordSchema):
    """A normal feeding; `about` is the brood, the fish, the tank or the batch; `belly` is of young after their meal."""

    took = one_of("ate", "spat", "ignored")
    food = text()
    belly = one_of("full", "half", "empty")


class MarkSchema(RecordSchema):
    """Something that happened to a brood, or what somebody did with a duty."""

    what = one_of(
        "courtship", "spawning", "caught", "taken", "done", "handed_back", "later", "skipped", "loose_fry_handled"
    )
    eggs = count()
    yolk = count()
    free = count()
    duty = text(200)
    until = Instant(allow_none=True, metadata={"description": "of `later`: when to say it again"})


class PhotoSchema(RecordSchema):
    """A photograph; `about` is what it shows. Its bytes go up apart, under the SHA-256 of what was uploaded."""

    sha256 = Text(
        allow_none=True, validate=validate.Regexp(rf"(?:{SHA256.pattern})\Z", error="must be 64 hexadecimal digits")
    )
    bytes = count(100_000_000)
    width = count()
    height = count()


class AbsenceSchema(RecordSchema):
    """Somebody is not at home; `person` is his id."""

    person = person_id()
    since = Instant(allow_none=True)
    until = Instant(allow_none=True)


class RotaSchema(RecordSchema):
    """Whose turn it is on which days of the week; `person` is his id, `weekdays` a list as BYDAY of RFC 5545 has it."""

    person = person_id()
    weekdays = Text(
        allow_none=True,
        validate=validate.Regexp(rf"(?:(?:{_DAY}(?:,{_DAY})*)?)\Z", error="must be days such as TU,TH"),
    )


class BatchSchema(RecordSchema):
    """Young in their nursery vessel since `at`; `about` is the brood that they came of.

    `portion` is one meal, and `jug` what water is changed with, in words of the house.
    """

    name = text()
    spot = text()
    litres = number(0, 1_000_000)
    alive = count(1_000_000)
    how = one_of(*HOW_COUNTED)
    meals_a_day = count(24)
    portion = text()
    jug = text()
    jug_litres = number(0, 1000)
    ended = one_of("weaned", "lost", "mistake")
    ended_at = Instant(allow_none=True)


class FoodSchema(RecordSchema):
    """A food that the house keeps, as its tin says or as it was measured; `measure` is what it is taken out with."""

    name = text()
    sort = one_of(*FOODS)
    nauplii_per_gram = number(0, 1_000_000)
    hours_to_hatch = number(0, 240)
    hours_to_enrich = number(0, 72)
    measure = text()
    measure_grams = number(0, 1000)
    finished = Truth(allow_none=True)


class CultureSchema(RecordSchema):
    """A hatch or a culture set going at `at`; `about` is the brood or batch that it is for, `food_id` of which tin."""

    food_id = record_id()
    sort = one_of(*FOODS)
    grams = number(0, 1000)
    litres = number(0, 100_000)


class CountSchema(RecordSchema):
    """How many young were alive, or how many were found dead; `about` is the batch."""

    alive = count(1_000_000)
    how = one_of(*HOW_COUNTED)
    dead = count(1_000_000)


class WaterTestSchema(RecordSchema):
    """What was measured in the water of a batch or a tank; ammonia (in both its forms) and nitrite as nitrogen."""

    ammonia_mg_l = number(0, 100)
    nitrite_mg_l = number(0, 1000)
    ph = number(0, 14)
    temperature_c = temperature()
    salinity_psu = number(0, 60)


class WaterChangeSchema(RecordSchema):
    """Water taken out of the vessel of a batch, or of a tank, and put in anew."""

    litres = number(0, 1_000_000)


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
    "batch": BatchSchema(),
    "food": FoodSchema(),
    "culture": CultureSchema(),
    "count": CountSchema(),
    "water_test": WaterTestSchema(),
    "water_change": WaterChangeSchema(),
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
