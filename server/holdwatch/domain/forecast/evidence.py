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


class Fault(NamedTuple):
    """What cannot be true: where it stands in a brood's file, what it is called there, and what is wrong with it.

    `plainly` says the same to a keeper, who knows no file: with days by the tank's clock, and what to do about it.
    """

    where: str
    name: str
    why: str
    plainly: str


class BadEvidence(ValueError):
    """Evidence that cannot be true, each fault told in the words of a brood's file, and plainly for keepers."""

    def __init__(self, *faults: Fault) -> None:
        super().__init__("; ".join(f"{fault.name} {fault.why}" for fault in faults))
        self.faults = faults

    def plainly(self) -> str:
        """Return every fault in a keeper's words."""
        return " ".join(fault.plainly for fault in self.faults)


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


class Ending(NamedTuple):
    """How a brood that nobody caught was said to have ended: *released*, or *lost*."""

    at: datetime
    how: str


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
    ending: Ending | None = None

    def __post_init__(self) -> None:
        faults = tuple(_unaware(self)) or tuple(_impossible(self))
        if faults:
            raise BadEvidence(*faults)

    def instants(self) -> Iterator[tuple[str, str, datetime]]:
        """Yield everything that happened: where it stands, its name for people, and its instant."""
        yield from ((f"readings[{n}].at", "the reading", at) for n, (at, _) in enumerate(self.readings))
        yield from ((f"looks[{n}].at", f"look {look.id}", look.at) for n, look in enumerate(self.looks))
        yield from ((f"courtship[{n}].at", "the courtship", at) for n, at in enumerate(self.courtship))
        if self.spawn:
            yield "spawn.at", "the spawning", self.spawn.at
        if self.catch:
            yield "catch.at", "the catch", self.catch.at
        if self.ending:
            yield "ending.at", "the end", self.ending.at

    def ended(self) -> bool:
        """Return whether the brood is over: there are no nights ahead, and later looks say nothing."""
        return bool(self.catch or self.ending)

    def end(self) -> datetime:
        """Return the instant to which the brood is followed: now, or the catch or the end that was told of."""
        ended = self.catch or self.ending
        return ended.at if ended else self.now


def _unaware(evidence: Evidence) -> Iterator[Fault]:
    bounds = (("now", evidence.now), ("not_before", evidence.not_before), ("not_after", evidence.not_after))
    for where, name, at in (*((name, name, at) for name, at in bounds), *evidence.instants()):
        if at is not None and at.utcoffset() is None:
            plainly = f"A time is not clear: {at:%H:%M} in which time zone?"
            yield Fault(where, f"{name} at", f"{at.isoformat()} has no time zone", plainly)


def _impossible(evidence: Evidence) -> Iterator[Fault]:
    start = evidence.not_before
    for where, name, at in evidence.instants():
        if days_between(at, evidence.now) < 0:
            plainly = f"{_called(name, at, evidence)} is still to come. Correct its time."
            yield Fault(where, f"{name} at", f"{at.isoformat()} lies after now", plainly)
        elif start and name not in BEFORE_A_BROOD and days_between(start, at) < 0:
            why = f"{at.isoformat()} lies before the brood can have begun, {start.isoformat()}"
            until = f"{_day(start, evidence)}, and until then he surely did not hold"
            plainly = f"{_called(name, at, evidence)} lies before {until}. Correct one of them."
            yield Fault(where, f"{name} at", why, plainly)
    yield from _crossed(evidence)
    yield from _unknown_values(evidence)
    yield from _impossible_amounts(evidence)


def _crossed(evidence: Evidence) -> Iterator[Fault]:
    start, end = evidence.not_before, evidence.not_after
    if start and days_between(start, evidence.now) <= 0:
        plainly = f"He cannot have begun only on {_day(start, evidence)}: that is still to come. Correct it."
        yield Fault("not_before", "not_before", f"{start.isoformat()} does not lie before now", plainly)
    if start and end and days_between(start, end) <= 0:
        why = f"{end.isoformat()} does not lie after not_before {start.isoformat()}"
        plainly = (
            f"He is said to have held by {_day(end, evidence)}, but surely not before {_day(start, evidence)}. "
            "Correct when he took them up."
        )
        yield Fault("not_after", "not_after", why, plainly)


def _unknown_values(evidence: Evidence) -> Iterator[Fault]:
    for n, look in enumerate(evidence.looks):
        seen = {part: getattr(look, part) for part in VALUES if getattr(look, part) is not None}
        for part, value in {"light": look.light, **seen}.items():
            values = VALUES.get(part, LIGHTS)
            if value not in values:
                why = f"{value!r} is none of {', '.join(values)}"
                plainly = f"{_called('look', look.at, evidence)} says something unknown here. Correct it."
                yield Fault(f"looks[{n}].{part}", f"look {look.id}: {part}", why, plainly)
    if evidence.tank.company not in COMPANY:
        why = f"{evidence.tank.company!r} is none of {', '.join(COMPANY)}"
        yield Fault("tank.company", "tank: company", why, "Say of the tank whether he sits alone or with others.")


def _impossible_amounts(evidence: Evidence) -> Iterator[Fault]:
    temperatures: list[tuple[str, str, datetime | None, float]] = []
    temperatures.append(("tank.set_point_c", "set point:", None, evidence.tank.set_point_c))
    for n, (at, value) in enumerate(evidence.readings):
        # There may be thousands: those alone get a name that something is wrong with.
        if not COLDEST_C <= value <= WARMEST_C:
            temperatures.append((f"readings[{n}].temperature_c", f"reading at {at.isoformat()}:", at, value))
    for where, name, when, value in temperatures:
        if not COLDEST_C <= value <= WARMEST_C:
            what = f"{_called('the reading', when, evidence)} of" if when else "The set point of the tank of"
            why = f"{value:g} °C is outside {COLDEST_C:g} to {WARMEST_C:g} °C"
            plainly = f"{what} {value:g} °C lies outside {COLDEST_C:g} to {WARMEST_C:g} °C. Correct it."
            yield Fault(where, name, why, plainly)
    if evidence.spawn and not evidence.spawn.error_min >= 0:
        why = f"an error of {evidence.spawn.error_min:g} min is below 0"
        yield Fault("spawn.error_min", "the spawning:", why, "The spawning is off by less than nothing. Correct it.")
    if evidence.catch and min(evidence.catch[1:]) < 0:
        yield Fault("catch", "the catch:", "a count below 0", "The catch counts fewer than none. Correct its counts.")


def _called(name: str, at: datetime, evidence: Evidence) -> str:
    """Return what happened as a keeper calls it, with its day and hour: nobody knows a look by its id."""
    what = "The look" if name.startswith("look") else f"T{name[1:]}"
    return f"{what} of {_day(at, evidence)}, {at.astimezone(evidence.tank.zone_info()):%H:%M},"


def _day(at: datetime, evidence: Evidence) -> str:
    local = at.astimezone(evidence.tank.zone_info())
    return f"{local.day} {local:%b %Y}"
