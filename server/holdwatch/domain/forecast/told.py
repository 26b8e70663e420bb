"""The forecast as it is told: every answer about one brood in one value, and the same as JSON.

Readings the page leaves open, decided here: after a catch the chances are those at the catch, and there is neither a
table of nights nor a grid of chances.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from holdwatch.domain.catch import recommended
from holdwatch.domain.forecast.answers import Chances, Quantiles, chances_at, quantiles
from holdwatch.domain.forecast.belief import Belief, believe
from holdwatch.domain.forecast.contradiction import Conflict, Doubt, contradictions
from holdwatch.domain.forecast.evidence import Evidence
from holdwatch.domain.forecast.nights import NightChances, night_table
from holdwatch.domain.forecast.sight import Sight
from holdwatch.domain.species import Profile

GRID_STEP, GRID_STEPS = timedelta(hours=6), 57


@dataclass(frozen=True)
class Disagreement:
    """A part of one evening of which people saw different things."""

    look: str
    part: str
    values: tuple[str, ...]


@dataclass(frozen=True)
class GridPoint:
    """The six chances at one instant of the coming 14 days."""

    at: datetime
    chances: Chances


@dataclass(frozen=True)
class Forecast:
    """All that is believed of one brood at `made_at`; `zone` is that of its tank, instants are in UTC."""

    made_at: datetime
    zone: str
    spawned: Quantiles
    silver: Quantiles
    hatched: Quantiles
    released: Quantiles
    released_last: Quantiles
    now: Chances
    grid: tuple[GridPoint, ...]
    nights: tuple[NightChances, ...]
    catch: NightChances | None
    conflict: Conflict | None
    not_believed: tuple[Doubt, ...]
    disagreements: tuple[Disagreement, ...]
    rough: bool
    points: int
    effective_points: float


def forecast(evidence: Evidence, profile: Profile, announced: date | None = None) -> Forecast:
    """Return the forecast of a brood; `announced` is the night already told to people, kept for a gain under 0.01."""
    belief = believe(evidence, profile)
    conflict, not_believed = contradictions(belief, profile)
    nights = night_table(belief, evidence, profile)
    return Forecast(
        made_at=evidence.now,
        zone=evidence.tank.zone,
        spawned=quantiles(belief, "spawn"),
        silver=quantiles(belief, "silver"),
        hatched=quantiles(belief, "hatch"),
        released=quantiles(belief, "released"),
        released_last=quantiles(belief, "released_last"),
        now=chances_at(belief, evidence.end()),
        grid=() if evidence.catch else _grid(belief, evidence.now),
        nights=nights,
        catch=_catch(nights, announced),
        conflict=conflict,
        not_believed=not_believed,
        disagreements=tuple(_disagreements(belief.sights)),
        rough=belief.rough,
        points=belief.points,
        effective_points=belief.effective_points,
    )


def _grid(belief: Belief, now: datetime) -> tuple[GridPoint, ...]:
    instants = (now.astimezone(UTC) + GRID_STEP * step for step in range(GRID_STEPS))
    return tuple(GridPoint(at, chances_at(belief, at)) for at in instants)


def _catch(nights: Iterable[NightChances], announced: date | None) -> NightChances | None:
    nights = tuple(nights)
    best = recommended([night.prospect() for night in nights], announced)
    return next((night for night in nights if best and night.night == best.night.date), None)


def _disagreements(sights: Iterable[Sight]) -> Iterable[Disagreement]:
    for sight in sights:
        for finding in sight.evening.findings if sight.evening else ():
            if finding.disagrees():
                yield Disagreement(sight.id, finding.part, finding.every_value)


def to_json(told: Forecast) -> dict[str, Any]:
    """Return the forecast as plain JSON values, instants in ISO 8601 with the offset of the tank's zone."""
    zone = ZoneInfo(told.zone)
    steps = ("spawned", "silver", "hatched", "released", "released_last")
    return {
        **{step: _quantiles_json(getattr(told, step), zone) for step in steps},
        "now": told.now._asdict(),
        "grid": [{"at": _iso(point.at, zone), **point.chances._asdict()} for point in told.grid],
        "nights": [_night_json(night, zone) | night.chances._asdict() for night in told.nights],
        "catch": _night_json(told.catch, zone) if told.catch else None,
        "conflict": _conflict_json(told.conflict) if told.conflict else None,
        "not_believed": [_doubt_json(doubt) for doubt in told.not_believed],
        "disagreements": [{"look": d.look, "part": d.part, "seen": list(d.values)} for d in told.disagreements],
        "rough": told.rough,
        "points": told.points,
        "effective_points": told.effective_points,
    }


def _quantiles_json(quantiles: Quantiles, zone: ZoneInfo) -> dict[str, str]:
    return {name: _iso(at, zone) for name, at in quantiles._asdict().items()}


def _night_json(night: NightChances, zone: ZoneInfo) -> dict[str, Any]:
    return {"night": night.night.isoformat(), "at": _iso(night.at, zone), "saved": night.saved}


def _conflict_json(conflict: Conflict) -> dict[str, str]:
    seen = ", ".join(f"{part} {' and '.join(values)}" for part, values in conflict.seen)
    why = f"{seen}: all the other looks together leave a chance of {conflict.chance:.2g} for anything so unlikely"
    return {"look": conflict.look, "why": why}


def _doubt_json(doubt: Doubt) -> dict[str, Any]:
    return {"look": doubt.look, "part": doubt.part, "seen": " and ".join(doubt.values), "chance": doubt.chance}


def _iso(at: datetime, zone: ZoneInfo) -> str:
    return at.astimezone(zone).isoformat(timespec="seconds")
