"""Between which temperatures all the fish of a tank can live, and who says so."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from ...domain.species import Number, Profile
from ..sync.stored import Stored


@dataclass(frozen=True)
class LivedIn:
    """The lowest and the highest temperature, each with its source."""

    low_c: float
    high_c: float
    low_source: str
    high_source: str


def lived_in(profiles: Mapping[str, Profile], fish: Iterable[Stored]) -> LivedIn | None:
    """What all the known species of these fish have in common; None where none of them is known."""
    known = [profiles[species] for one in fish if (species := one.value("species")) in profiles]
    if not known:
        return None
    low = max(known, key=lambda profile: profile.temperature.low_c)
    high = min(known, key=lambda profile: profile.temperature.high_c)
    low_source, high_source = (_number(profile, name).source for profile, name in ((low, "low_c"), (high, "high_c")))
    return LivedIn(low.temperature.low_c, high.temperature.high_c, low_source, high_source)


def _number(profile: Profile, name: str) -> Number:
    return next(number for number in profile.numbers if number.name == f"temperature.{name}")
