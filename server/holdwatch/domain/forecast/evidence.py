"""All that is known of one brood: what the forecast is made from, checked once at the door.

Readings the page leaves open, decided here: nothing may lie after `now`, and neither looks, spawning nor catch
before `not_before`; what is said of the male after he was caught is not used.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, time
from typing import NamedTuple
from zoneinfo import ZoneInfo

from holdwatch.domain.clock import days_between
from holdwatch.domain.looks import LIGHTS, VALUES, Look

COMPANY = ("alone", "others")
BEFORE_A_BROOD = ("the reading", "the courtship")
COLDEST_C, WARMEST_C = -5.0, 45.0


class BadEvidence(ValueError):
    """Evidence that cannot be true, each fault told in words for people."""

    def __init__(self, *faults: str) -> None:
        super().__init__("; ".join(faults))
        self.faults = faults


class Reading(NamedTuple):
    """The temperature of the tank at an instant."""

    at: datetime
    temperature_c: float


class Spawn(NamedTuple):
    """A spawning that was seen, and how far off the instant may be."""

    at: datetime
    error_min: float


class Catch(NamedTuple):
    """What a catch brought up: counts of eggs, young with yolk, and young already let go."""

    at: datetime
    eggs: int
    yolk: int
    free: int


@dataclass(frozen=True)
class Tank:
    """Where the male sits: its time zone, set point, the local times of its lamps, and who else is there."""

    zone: str
    set_point_c: float
    lamps_out: time
    lamps_on: time
    company: str

    def zone_info(self) -> ZoneInfo:
        """Return the rules of the tank's time zone."""
        return ZoneInfo(self.zone)


@dataclass(frozen=True)
class Evidence:
    """One brood as it is known at `now`; every instant is aware of its zone."""

    now: datetime
    tank: Tank
    has_released_before: bool
    readings: tuple[Reading, ...] = ()
    looks: tuple[Look, ...] = ()
    spawn: Spawn | None = None
    courtship: tuple[datetime, ...] = field(default=())
    catch: Catch | None = None
    not_before: datetime | None = None
    not_after: datetime | None = None

    def __post_init__(self) -> None:
        faults = tuple(_unaware(self)) or tuple(_impossible(self))
        if faults:
            raise BadEvidence(*faults)

    def instants(self) -> Iterator[tuple[str, datetime]]:
        """Yield everything that happened, as a name for people and its instant."""
        yield from (("the reading", at) for at, _ in self.readings)
        yield from ((f"look {look.id}", look.at) for look in self.looks)
        yield from (("the courtship", at) for at in self.courtship)
        if self.spawn:
            yield "the spawning", self.spawn.at
        if self.catch:
            yield "the catch", self.catch.at

    def end(self) -> datetime:
        """Return the instant to which the brood is followed: now, or the catch that ended it."""
        return self.catch.at if self.catch else self.now


def _unaware(evidence: Evidence) -> Iterator[str]:
    bounds = (("now", evidence.now), ("not_before", evidence.not_before), ("not_after", evidence.not_after))
    for name, at in (*bounds, *evidence.instants()):
        if at is not None and at.utcoffset() is None:
            yield f"{name} at {at.isoformat()} has no time zone"


def _impossible(evidence: Evidence) -> Iterator[str]:
    start, end = evidence.not_before, evidence.not_after
    for name, at in evidence.instants():
        if days_between(at, evidence.now) < 0:
            yield f"{name} at {at.isoformat()} lies after now"
        elif start and name not in BEFORE_A_BROOD and days_between(start, at) < 0:
            yield f"{name} at {at.isoformat()} lies before the brood can have begun, {start.isoformat()}"
    if start and days_between(start, evidence.now) <= 0:
        yield f"not_before {start.isoformat()} does not lie before now"
    if start and end and days_between(start, end) <= 0:
        yield f"not_after {end.isoformat()} does not lie after not_before {start.isoformat()}"
    yield from _unknown_values(evidence)
    yield from _impossible_amounts(evidence)


def _unknown_values(evidence: Evidence) -> Iterator[str]:
    for look in evidence.looks:
        if look.light not in LIGHTS:
            yield f"look {look.id}: light {look.light!r} is none of {', '.join(LIGHTS)}"
        for part, values in VALUES.items():
            if getattr(look, part) not in (None, *values):
                yield f"look {look.id}: {part} {getattr(look, part)!r} is none of {', '.join(values)}"
    if evidence.tank.company not in COMPANY:
        yield f"tank: company {evidence.tank.company!r} is none of {', '.join(COMPANY)}"


def _impossible_amounts(evidence: Evidence) -> Iterator[str]:
    temperatures = [("set point", evidence.tank.set_point_c)]
    temperatures += [(f"reading at {at.isoformat()}", value) for at, value in evidence.readings]
    for name, value in temperatures:
        if not COLDEST_C <= value <= WARMEST_C:
            yield f"{name}: {value:g} °C is outside {COLDEST_C:g} to {WARMEST_C:g} °C"
    if evidence.spawn and not evidence.spawn.error_min >= 0:
        yield f"the spawning: an error of {evidence.spawn.error_min:g} min is below 0"
    if evidence.catch and min(evidence.catch[1:]) < 0:
        yield "the catch: a count below 0"
