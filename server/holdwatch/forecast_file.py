"""One brood read from a file and its forecast printed: `holdwatch forecast FILE [--json]`."""

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, time
from functools import cache
from pathlib import Path
from typing import Any, TextIO
from zoneinfo import available_timezones

from marshmallow import Schema, ValidationError, fields, validate

from holdwatch.config import load_profiles
from holdwatch.domain.forecast import BadEvidence, Catch, Evidence, Reading, Spawn, Tank, forecast, to_json
from holdwatch.domain.forecast.evidence import COLDEST_C, COMPANY, WARMEST_C
from holdwatch.domain.forecast.words import in_words
from holdwatch.domain.looks import LIGHTS, VALUES, Look
from holdwatch.domain.species import Profile

WRONG_FILE = 2
UNKNOWN_ZONE = "{input!r} is no time zone known here; name one like Europe/Berlin."


class BadFile(ValueError):
    """A file that tells of no brood, with a line for each fault."""

    def __init__(self, *faults: str) -> None:
        super().__init__("\n".join(faults))
        self.faults = faults


def run(path: str, as_json: bool, out: TextIO, err: TextIO) -> int:
    """Print the forecast of the brood in the file at `path`; return 0, or 2 with a line on `err` for each fault."""
    try:
        evidence, profile = read_brood(Path(path))
    except BadFile as bad:
        err.writelines(f"{path}: {fault}\n" for fault in bad.faults)
        return WRONG_FILE
    told = forecast(evidence, profile)
    out.write(f"{json.dumps(to_json(told), indent=2, ensure_ascii=False)}\n" if as_json else in_words(told, profile))
    return 0


def read_brood(path: Path) -> tuple[Evidence, Profile]:
    """Return the evidence and the species' profile that a file tells of, or raise `BadFile`."""
    brood = _parsed(path)
    try:
        loaded = BroodSchema().load(brood)
    except ValidationError as bad:
        raise BadFile(*_lines("", bad.normalized_messages())) from bad
    try:
        return _evidence(loaded), loaded["species"]
    except BadEvidence as bad:
        raise BadFile(*bad.faults) from bad


def profile_of(species: str) -> Profile | None:
    """Return the profile of a species by its scientific or common name or its id, however it is written."""
    return _profiles_by_name().get(_plain(species))


@cache
def _profiles_by_name() -> dict[str, Profile]:
    named = ((name, profile) for key, profile in load_profiles().items() for name in (key, *_names(profile)))
    return {_plain(name): profile for name, profile in named}


def _names(profile: Profile) -> tuple[str, str]:
    return profile.species, profile.common_name


def _plain(name: str) -> str:
    return re.sub(r"[\s_-]+", " ", name).strip().casefold()


def _parsed(path: Path) -> Any:
    try:
        return json.loads(path.read_text(encoding="utf-8-sig"), object_pairs_hook=_once, parse_constant=_no_constant)
    except OSError as bad:
        raise BadFile(f"cannot be read: {bad.strerror or bad}") from bad
    except BadFile:
        raise
    except json.JSONDecodeError as bad:
        raise BadFile(f"line {bad.lineno}, column {bad.colno}: is not JSON: {bad.msg}") from bad
    except (ValueError, RecursionError) as bad:
        raise BadFile(f"is not the JSON text of a brood: {bad}") from bad


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    names = [name for name, _ in pairs]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise BadFile(*(f"{name}: given twice in one object" for name in twice))
    return dict(pairs)


def _no_constant(name: str) -> None:
    raise BadFile(f"{name} is not a number in JSON")


def _lines(where: str, messages: Any) -> Iterator[str]:
    """Yield one line a fault, with where it is: `looks[2].light: Must be one of ...`."""
    if isinstance(messages, Mapping):
        for name, inner in messages.items():
            place = f"{where}[{name}]" if isinstance(name, int) else f"{where}.{name}" if where else name
            yield from _lines(where if name == "_schema" else place, inner)
    else:
        yield from (f"{where or 'the file'}: {message}" for message in messages)


class Instant(fields.Field[datetime]):
    """An instant in ISO 8601 with its offset."""

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> datetime:
        try:
            at = datetime.fromisoformat(value)
        except (TypeError, ValueError) as bad:
            raise ValidationError(f"{value!r} is not an instant like 2026-03-20T21:40:00+01:00.") from bad
        if at.utcoffset() is None:
            raise ValidationError(f"{value!r} has no time zone: add an offset such as +01:00 or Z.")
        if not 1900 <= at.year <= 2200:
            raise ValidationError(f"{value!r} lies outside the years 1900 to 2200.")
        return at


class LocalTime(fields.Field[time]):
    """A local time of day, HH:MM."""

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> time:
        if not isinstance(value, str) or not re.fullmatch(r"([01]\d|2[0-3]):[0-5]\d", value):
            raise ValidationError(f"{value!r} is not a local time like 21:30.")
        return time.fromisoformat(value)


class Amount(fields.Field[float]):
    """A number from `lowest` to `highest`, never a text or a yes."""

    def __init__(self, lowest: float = 0, highest: float = 100_000) -> None:
        super().__init__(required=True)
        self.lowest, self.highest = lowest, highest

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise ValidationError(f"{value!r} is not a number.")
        if not self.lowest <= value <= self.highest:
            raise ValidationError(f"{str(value)[:20]} is outside {self.lowest:g} to {self.highest:g}.")
        return value


class Count(Amount):
    """A whole number from 0."""

    def _deserialize(self, value: Any, *rest: Any, **named: Any) -> float:
        if isinstance(value, float) and not value.is_integer():
            raise ValidationError(f"{value:g} is not a whole number.")
        return int(super()._deserialize(value, *rest, **named))


def _yes_or_no(**rest: Any) -> fields.Boolean:
    return fields.Boolean(truthy={True}, falsy={False}, **rest)


def _one_of(values: Sequence[str], **rest: Any) -> fields.String:
    return fields.String(validate=validate.OneOf(values, error="{input!r} is none of {choices}."), **rest)


def _part(name: str) -> fields.String:
    return _one_of(VALUES[name], load_default=None, allow_none=True)


class Species(fields.String):
    """A species that has a profile; loads as the profile."""

    def _deserialize(self, value: Any, *rest: Any, **named: Any) -> Any:
        found = profile_of(super()._deserialize(value, *rest, **named))
        if found is None:
            known = ", ".join(sorted({profile.species for profile in _profiles_by_name().values()}))
            raise ValidationError(f"{value!r} is none of {known}.")
        return found


class ReadingSchema(Schema):
    """The temperature of the tank at an instant."""

    at = Instant(required=True)
    temperature_c = Amount(COLDEST_C, WARMEST_C)


class LookSchema(Schema):
    """One look at the male; absent parts were not seen."""

    id = fields.String()
    at = Instant(required=True)
    light = _one_of(LIGHTS, load_default="none")
    recalled = _yes_or_no(load_default=False)
    mouth, eggs, tails = _part("mouth"), _part("eggs"), _part("tails")
    food, loose_fry, clutch = _part("food"), _part("loose_fry"), _part("clutch")


class CourtshipSchema(Schema):
    """A courtship that was seen."""

    at = Instant(required=True)


class SpawnSchema(Schema):
    """A spawning that was seen, and how far off the instant may be."""

    at = Instant(required=True)
    error_min = Amount()


class CatchSchema(Schema):
    """What a catch brought up."""

    at = Instant(required=True)
    eggs, yolk, free = Count(), Count(), Count()


class TankSchema(Schema):
    """Where the male sits."""

    zone = fields.String(required=True, validate=validate.OneOf(available_timezones(), error=UNKNOWN_ZONE))
    set_point_c = Amount(COLDEST_C, WARMEST_C)
    lamps_out = LocalTime(required=True)
    lamps_on = LocalTime(required=True)
    company = _one_of(COMPANY, required=True)


class MaleSchema(Schema):
    """What is known of the male himself."""

    has_released_before = _yes_or_no(required=True)


class BroodSchema(Schema):
    """One brood as it is known now."""

    species = Species(required=True)
    now = Instant(required=True)
    tank = fields.Nested(TankSchema, required=True)
    male = fields.Nested(MaleSchema, required=True)
    readings = fields.List(fields.Nested(ReadingSchema), load_default=list)
    looks = fields.List(fields.Nested(LookSchema), load_default=list)
    spawn = fields.Nested(SpawnSchema, load_default=None, allow_none=True)
    courtship = fields.List(fields.Nested(CourtshipSchema), load_default=list)
    catch = fields.Nested(CatchSchema, load_default=None, allow_none=True)
    not_before = Instant(load_default=None, allow_none=True)
    not_after = Instant(load_default=None, allow_none=True)


def _evidence(brood: dict[str, Any]) -> Evidence:
    return Evidence(
        now=brood["now"],
        tank=Tank(**brood["tank"]),
        has_released_before=brood["male"]["has_released_before"],
        readings=tuple(Reading(**reading) for reading in brood["readings"]),
        looks=tuple(Look(**{"id": f"at {look['at'].isoformat()}", **look}) for look in brood["looks"]),
        spawn=Spawn(**brood["spawn"]) if brood["spawn"] else None,
        courtship=tuple(courtship["at"] for courtship in brood["courtship"]),
        catch=Catch(**brood["catch"]) if brood["catch"] else None,
        not_before=brood["not_before"],
        not_after=brood["not_after"],
    )
