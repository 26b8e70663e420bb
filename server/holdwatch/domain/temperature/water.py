"""The temperature of a tank as the forecast uses it: what passed of its thermometers, what did not, where nothing is.

Each hour counts as the mean of its thermometers' means, at the mean of their instants. What a keeper says of a
thermometer counts before what the filter says of it: *right* brings spikes and stuck hours back, *wrong* leaves the
hours out. Of two such words on the same hour the later counts.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import chain, pairwise
from typing import Literal, NamedTuple

from .hours import Hour, Part
from .stuck import LONGEST_PAUSE_H, Run, stuck_runs

Why = Literal["spike", "stuck", "wrong"]
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
HOUR = timedelta(hours=1)
LONGEST_QUIET = timedelta(hours=3)
"""A thermometer that is silent for longer leaves a gap worth showing (assumption)."""
TOGETHER_H: dict[Why, int] = {"spike": 1, "stuck": LONGEST_PAUSE_H, "wrong": 24}
"""Doubted hours no further apart than this are told of as one."""


@dataclass(frozen=True)
class Trust:
    """A keeper's word on a thermometer from one instant until another; None: without an end on that side."""

    thermometer: str
    since: datetime | None
    until: datetime | None
    is_right: bool

    def covers(self, name: str, hour: int) -> bool:
        """Whether it speaks of that thermometer's hour."""
        begins, ends = hour_instant(hour), hour_instant(hour + 1)
        after = self.since is None or self.since < ends
        return self.thermometer == name and after and (self.until is None or self.until > begins)


class Point(NamedTuple):
    """The temperature of the tank at an instant."""

    at: datetime
    celsius: float


@dataclass(frozen=True)
class LeftOut:
    """Readings of one thermometer that the filter would leave out, and whether a keeper's word has them used."""

    thermometer: str
    since: datetime
    until: datetime
    why: Why
    n: int
    low_c: float
    high_c: float
    is_used: bool


@dataclass(frozen=True)
class Gap:
    """A time without a reading that could be used; without an end where it still lasts."""

    since: datetime
    until: datetime | None


@dataclass(frozen=True)
class Water:
    """What is known of a tank's temperature; all in order of time."""

    points: tuple[Point, ...]
    left_out: tuple[LeftOut, ...]
    gaps: tuple[Gap, ...]
    together: tuple[str, ...] = ()
    """The thermometers that count as their mean in some hour."""


@dataclass(frozen=True)
class _Judged:
    """One hour of one thermometer: what of it is used, and what is said of the rest."""

    hour: int
    used: Part | None
    doubted: Part | None
    why: Why
    is_used: bool


def hour_number(at: datetime) -> int:
    """The hour that an instant lies in, numbered from 1970 UTC."""
    return (at - EPOCH) // HOUR


def hour_instant(number: int) -> datetime:
    """When an hour, numbered from 1970 UTC, begins."""
    return EPOCH + number * HOUR


def begun_hour(at: datetime) -> datetime:
    """When the hour begins that an instant lies in."""
    return hour_instant(hour_number(at))


def water_of(
    thermometers: Mapping[str, Sequence[Hour]], trusts: Sequence[Trust], since: datetime, now: datetime
) -> Water:
    """Return the water from `since` to `now`; hours in order, trusts in the order in which they were said.

    Hours before `since` only help to know how a thermometer usually moves.
    """
    first = hour_number(since)
    stuck = stuck_runs(thermometers)
    judged = {
        name: [_judged(hour, name, stuck[name], trusts) for hour in hours if hour.number >= first]
        for name, hours in thermometers.items()
    }
    points = tuple(point for point in _points(judged) if since <= point.at <= now)
    left_out = [one for name, hours in judged.items() for one in _left_out(name, hours)]
    ordered = tuple(sorted(left_out, key=lambda one: (one.since, one.thermometer)))
    return Water(points, ordered, tuple(_gaps(points, now)), _together(judged))


def _judged(hour: Hour, name: str, stuck: Sequence[Run], trusts: Sequence[Trust]) -> _Judged:
    said = next((trust for trust in reversed(trusts) if trust.covers(name, hour.number)), None)
    if said and not said.is_right:
        return _Judged(hour.number, None, hour.whole(), "wrong", False)
    is_stuck = any(run.first <= hour.number <= run.last for run in stuck)
    doubted = hour.whole() if is_stuck else hour.spikes
    why: Why = "stuck" if is_stuck else "spike"
    if said:
        return _Judged(hour.number, hour.whole(), doubted, why, True)
    return _Judged(hour.number, None if is_stuck else hour.passed, doubted, why, False)


def _points(judged: Mapping[str, Sequence[_Judged]]) -> Iterator[Point]:
    hours: dict[int, list[Part]] = {}
    for one in judged.values():
        for hour in one:
            if hour.used:
                hours.setdefault(hour.hour, []).append(hour.used)
    for _, parts in sorted(hours.items()):
        at_ms = sum(part.at_ms for part in parts) // len(parts)
        yield Point(EPOCH + timedelta(milliseconds=at_ms), sum(part.mean_c for part in parts) / len(parts))


def _together(judged: Mapping[str, Sequence[_Judged]]) -> tuple[str, ...]:
    used = {name: {hour.hour for hour in hours if hour.used} for name, hours in judged.items()}
    shared = {hour for hour, count in Counter(chain.from_iterable(used.values())).items() if count > 1}
    return tuple(name for name, hours in used.items() if hours & shared)


def _left_out(name: str, hours: Sequence[_Judged]) -> Iterator[LeftOut]:
    """Doubted hours that follow one another for the same reason, as one."""
    doubted = [(hour, part) for hour in hours if (part := hour.doubted)]
    run: list[tuple[_Judged, Part]] = []
    for hour, part in doubted:
        if run and not _same_run(run[-1][0], hour):
            yield _as_one(name, run)
            run = []
        run.append((hour, part))
    if run:
        yield _as_one(name, run)


def _same_run(before: _Judged, hour: _Judged) -> bool:
    return (before.why, before.is_used) == (hour.why, hour.is_used) and hour.hour - before.hour <= TOGETHER_H[hour.why]


def _as_one(name: str, run: Sequence[tuple[_Judged, Part]]) -> LeftOut:
    (first, _), (last, _), parts = run[0], run[-1], [part for _, part in run]
    return LeftOut(
        thermometer=name,
        since=hour_instant(first.hour),
        until=hour_instant(last.hour + 1),
        why=first.why,
        n=sum(part.n for part in parts),
        low_c=min(part.low_c for part in parts),
        high_c=max(part.high_c for part in parts),
        is_used=first.is_used,
    )


def _gaps(points: Sequence[Point], now: datetime) -> Iterator[Gap]:
    for before, after in pairwise(points):
        if after.at - before.at > LONGEST_QUIET:
            yield Gap(before.at, after.at)
    if points and now - points[-1].at > LONGEST_QUIET:
        yield Gap(points[-1].at, None)
