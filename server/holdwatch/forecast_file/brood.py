"""One brood as a file tells of it, and the evidence that it makes."""

from __future__ import annotations

import re
from functools import cache
from typing import Any

from marshmallow import ValidationError

from ..config import load_profiles
from ..domain.forecast import Catch, Evidence, Reading, Spawn, Tank
from ..domain.forecast.evidence import COLDEST_C, COMPANY, WARMEST_C
from ..domain.looks import LIGHTS, VALUES, Look
from ..domain.species import Profile
from ..records.zones import NoZone, check_zone
from .fields import Amount, Count, Inside, Instant, LocalTime, OneOf, Part, Several, Text, YesOrNo, shown

MOST_LOOKS, MOST_READINGS, MOST_COURTSHIPS = 1_000, 20_000, 1_000


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


class Species(Text):
    """A species that has a profile; loads as the profile."""

    def _deserialize(self, value: Any, *rest: Any, **named: Any) -> Any:
        found = profile_of(super()._deserialize(value, *rest, **named))
        if found is None:
            known = ", ".join(sorted({profile.species for profile in _profiles_by_name().values()}))
            raise ValidationError(f"{shown(value)} is none of {known}.")
        return found


class Zone(Text):
    """The name of a time zone."""

    def _deserialize(self, value: Any, *rest: Any, **named: Any) -> Any:
        name = super()._deserialize(value, *rest, **named)
        try:
            check_zone(name)
        except NoZone as bad:
            raise ValidationError(f"{bad}.") from bad
        return name


def _seen(part: str) -> OneOf:
    return OneOf(VALUES[part], load_default=None, allow_none=True)


class ReadingPart(Part):
    """The temperature of the tank at an instant."""

    at = Instant(required=True)
    temperature_c = Amount(COLDEST_C, WARMEST_C)


class LookPart(Part):
    """One look at the male; absent parts were not seen."""

    id = Text()
    at = Instant(required=True)
    light = OneOf(LIGHTS, load_default="none")
    recalled = YesOrNo(load_default=False)
    mouth, eggs, tails = _seen("mouth"), _seen("eggs"), _seen("tails")
    food, loose_fry, clutch = _seen("food"), _seen("loose_fry"), _seen("clutch")


class CourtshipPart(Part):
    """A courtship that was seen."""

    at = Instant(required=True)


class SpawnPart(Part):
    """A spawning that was seen, and how far off the instant may be."""

    at = Instant(required=True)
    error_min = Amount()


class CatchPart(Part):
    """What a catch brought up."""

    at = Instant(required=True)
    eggs, yolk, free = Count(), Count(), Count()


class TankPart(Part):
    """Where the male sits."""

    zone = Zone(required=True)
    set_point_c = Amount(COLDEST_C, WARMEST_C)
    lamps_out = LocalTime(required=True)
    lamps_on = LocalTime(required=True)
    company = OneOf(COMPANY, required=True)


class MalePart(Part):
    """What is known of the male himself."""

    has_released_before = YesOrNo(required=True)


class BroodSchema(Part):
    """One brood as it is known now."""

    species = Species(required=True)
    now = Instant(required=True)
    tank = Inside(TankPart, required=True)
    male = Inside(MalePart, required=True)
    readings = Several(ReadingPart, MOST_READINGS)
    looks = Several(LookPart, MOST_LOOKS)
    spawn = Inside(SpawnPart, load_default=None, allow_none=True)
    courtship = Several(CourtshipPart, MOST_COURTSHIPS)
    catch = Inside(CatchPart, load_default=None, allow_none=True)
    not_before = Instant(load_default=None, allow_none=True)
    not_after = Instant(load_default=None, allow_none=True)


def evidence_of(brood: dict[str, Any]) -> Evidence:
    """The evidence in a brood that was loaded; BadEvidence where it cannot be true."""
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
