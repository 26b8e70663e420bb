"""Reads a story as evidence for the forecast: what can be used, and what is left out and why."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta

from ...domain.forecast import Catch, Evidence, Reading, Spawn, Tank
from ...domain.forecast.prior import earliest_spawn
from ...domain.looks import Look
from ...domain.species import Profile
from ...records.instants import parse_instant
from ..events import events_of, once
from ..looks import looks_of
from ..sync.stored import Stored
from .story import NotYetKnown, Story, instants

CLOCKS_APART = timedelta(minutes=5)
"""As far ahead as a stamp may be and still be taken."""
SPAWN_ERROR_MIN = 60.0
"""For a spawning that was seen, where nobody said how exactly (assumption)."""
NEEDED_OF_A_TANK = {
    "zone": "a time zone",
    "lamps_out": "a time at which its lamps go out",
    "lamps_on": "a time at which its lamps come on",
    "set_point_c": "the temperature that its water is kept at",
}


@dataclass(frozen=True)
class Understood:
    """The evidence, the ids of records that could not be used, and how many were."""

    evidence: Evidence
    left_out: tuple[str, ...]
    events: int
    """How many looks and feedings were used; one that two people logged counts once."""


def understand(story: Story, profile: Profile, now: datetime) -> Understood:
    """Turn the records into evidence; NotYetKnown while the tank's lamp times, zone or set point are missing."""
    whole = _evidence(story, now)
    begun = _beginning(story, whole, profile)
    # Nothing is learned of this brood from before it; a male's feedings go further back than that.
    first = begun or earliest_spawn(whole, profile.spawning)
    looks = tuple(look for look in whole.looks if look.at >= first)
    known = {look.id for look in looks}
    about_brood = [record for record in (*story.looks, *story.feedings) if record.value("about") == story.brood.id]
    left_out = tuple(record.id for record in about_brood if record.id not in known)
    kept = tuple(at for at in whole.courtship if at >= first)
    used = (record for record in (*story.looks, *story.feedings) if record.id in known)
    events = len(events_of(used, {story.male.id: story.brood.id}))
    return Understood(replace(whole, looks=looks, courtship=kept, not_before=begun), left_out, events)


def last_ate(story: Story) -> datetime | None:
    """When the male last took food, by looks and feedings."""
    ate = [look for look in story.looks if look.value("food") == "ate"]
    fed = [feeding for feeding in story.feedings if feeding.value("took") == "ate"]
    return max(instants([*ate, *fed]), default=None)


def _evidence(story: Story, now: datetime) -> Evidence:
    spawning = _last([mark for mark in story.marks if _dated_by(mark, now)], "spawning")
    courtships = once(mark for mark in story.marks if mark.value("what") == "courtship")
    return Evidence(
        now=now,
        tank=read_tank(story.tank),
        has_released_before=_has_released(story, now),
        readings=(*_readings(story.readings, now), *(Reading(*point) for point in story.hourly_means)),
        looks=tuple(replace(look, at=min(look.at, now)) for look in _looks(story) if _has_come(look.at, now)),
        spawn=_spawn(spawning, now) if spawning else None,
        courtship=tuple(min(at, now) for at in instants(courtships) if _has_come(at, now)),
        catch=_catch(story.caught(), now),
        not_after=_instant(story.brood.value("not_after")),
    )


def _beginning(story: Story, evidence: Evidence, profile: Profile) -> datetime | None:
    """`not_before` as it was said, or else the male's last end if the spawn cannot lie before it anyway."""
    said = _instant(story.brood.value("not_before"))
    if said is not None and _contradicted(said, evidence):
        # A spawning or a catch that somebody saw is better knowledge than a bound that somebody guessed.
        return None
    if said is not None or evidence.spawn is not None:
        return said
    last = _last_end(story, evidence.now)
    return last if last is not None and last > earliest_spawn(evidence, profile.spawning) else None


def _contradicted(said: datetime, evidence: Evidence) -> bool:
    seen = [event.at for event in (evidence.spawn, evidence.catch) if event]
    return said >= evidence.now or any(at < said for at in seen)


def _last_end(story: Story, now: datetime) -> datetime | None:
    ended = [brood for brood in story.earlier if brood.value("ended") in ("caught", "released", "lost")]
    ends = instants(ended, "ended_at") + instants(story.earlier_catches)
    signs = instants(story.looks) + [now]
    return max((end for end in ends if end < min(signs)), default=None)


def read_tank(tank: Stored) -> Tank:
    """The tank as the domain knows it; NotYetKnown while anything it needs is missing."""
    missing = [words for name, words in NEEDED_OF_A_TANK.items() if tank.value(name) is None]
    if missing:
        *first, last = missing
        listed = f"{', '.join(first)} and {last}" if first else last
        raise NotYetKnown(f"His tank lacks {listed}. Add {'them' if first else 'it'} under Household.")
    return Tank(
        zone=tank.value("zone"),
        set_point_c=float(tank.value("set_point_c")),
        lamps_out=time.fromisoformat(tank.value("lamps_out")),
        lamps_on=time.fromisoformat(tank.value("lamps_on")),
        company=tank.value("company") or "others",
    )


def _looks(story: Story) -> Iterable[Look]:
    yield from looks_of(story.looks)
    for record in story.feedings:
        if record.value("at") and record.value("took"):
            yield Look(record.id, parse_instant(record.value("at")), "daylight", food=record.value("took"))


def _readings(records: Iterable[Stored], now: datetime) -> Iterable[Reading]:
    for record in records:
        if record.value("at") and record.value("temperature_c") is not None:
            at = parse_instant(record.value("at"))
            if _has_come(at, now):
                yield Reading(min(at, now), float(record.value("temperature_c")))


def _has_come(at: datetime, now: datetime) -> bool:
    """A phone's clock may be a little ahead of ours: what it has just seen has been seen."""
    return at <= now + CLOCKS_APART


def _dated_by(mark: Stored, now: datetime) -> bool:
    at = _instant(mark.value("at"))
    return at is not None and _has_come(at, now)


def _spawn(mark: Stored, now: datetime) -> Spawn:
    error = mark.value("at_error_min")
    return Spawn(min(parse_instant(mark.value("at")), now), SPAWN_ERROR_MIN if error is None else float(error))


def _catch(mark: Stored | None, now: datetime) -> Catch | None:
    counts = [mark.value(name) for name in ("eggs", "yolk", "free")] if mark else []
    # One that nobody counted brought up not nothing, but nobody knows what.
    if mark is None or not mark.value("at") or all(count is None for count in counts):
        return None
    return Catch(min(parse_instant(mark.value("at")), now), *(int(count or 0) for count in counts))


def _has_released(story: Story, now: datetime) -> bool:
    """Whether he had brought a brood to its end by `now`, or is said to have."""
    ended = [brood for brood in story.earlier if brood.value("ended") in ("released", "caught")]
    ends = instants(ended, "ended_at") + instants(story.earlier_catches)
    return bool(story.male.value("has_released_before") or any(end < now for end in ends))


def _last(marks: Iterable[Stored], what: str) -> Stored | None:
    found = [mark for mark in marks if mark.value("what") == what and mark.value("at")]
    return found[-1] if found else None


def _instant(text: str | None) -> datetime | None:
    return parse_instant(text) if text else None
