"""The forecast as plain JSON values: for `holdwatch forecast --json`, for the database and for phones."""

from collections.abc import Iterable
from datetime import datetime
from itertools import groupby
from typing import Any
from zoneinfo import ZoneInfo

from holdwatch.domain.forecast.answers import Quantiles
from holdwatch.domain.forecast.contradiction import Conflict, Doubt
from holdwatch.domain.forecast.glass import IfSeen
from holdwatch.domain.forecast.looking import Chance, NextLook
from holdwatch.domain.forecast.nights import NightChances
from holdwatch.domain.forecast.plans import Plan
from holdwatch.domain.forecast.prior import Learned
from holdwatch.domain.forecast.told import Forecast

# Enough for a screen, and half the length: there are some seventy findings, each with six chances.
DECIMALS = 4


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
        "influences": [
            {
                "look": one.look,
                "hatched_later_days": one.hatched_later_days,
                "night_without": one.night_without.isoformat() if one.night_without else None,
            }
            for one in told.influences
        ],
        "next_look": _next_look_json(told.next_look, zone) if told.next_look else None,
        "if_seen": [_look_json(chance, zone) | {"findings": found} for chance, found in _findings(told.if_seen, zone)],
        "plans": [_plan_json(plan, zone) for plan in told.plans],
        "learned": _learned_json(told.learned) if told.learned else None,
        "rough": told.rough,
        "points": told.points,
        "effective_points": told.effective_points,
    }


def _quantiles_json(quantiles: Quantiles, zone: ZoneInfo) -> dict[str, str]:
    return {name: _iso(at, zone) for name, at in quantiles._asdict().items()}


def _night_json(night: NightChances, zone: ZoneInfo) -> dict[str, Any]:
    return {"night": night.night.isoformat(), "at": _iso(night.at, zone), "saved": night.saved}


def _conflict_json(conflict: Conflict) -> dict[str, str]:
    seen = ", ".join(f"{part.replace('_', ' ')} {' and '.join(values)}" for part, values in conflict.seen)
    why = f"{seen}: all the other looks together leave a chance of {conflict.chance:.2g} for anything so unlikely"
    return {"look": conflict.look, "why": why}


def _doubt_json(doubt: Doubt) -> dict[str, Any]:
    return {"look": doubt.look, "part": doubt.part, "seen": " and ".join(doubt.values), "chance": doubt.chance}


def _iso(at: datetime, zone: ZoneInfo) -> str:
    return at.astimezone(zone).isoformat(timespec="seconds")


def _look_json(chance: Chance, zone: ZoneInfo) -> dict[str, Any]:
    return {"night": chance.night.isoformat(), "at": _iso(chance.at, zone), "light": chance.light}


def _next_look_json(look: NextLook, zone: ZoneInfo) -> dict[str, Any]:
    return _look_json(look.chance, zone) | {"gain": look.gain, "cost": look.cost, "look_for": look.look_for}


def _findings(meanings: Iterable[IfSeen], zone: ZoneInfo) -> Iterable[tuple[Chance, list[dict[str, Any]]]]:
    for chance, group in groupby(meanings, key=lambda meaning: meaning.chance):
        yield chance, [_meaning_json(meaning, zone) for meaning in group]


def _meaning_json(meaning: IfSeen, zone: ZoneInfo) -> dict[str, Any]:
    best = meaning.night
    night = best and {
        "night": best.night.date.isoformat(),
        "at": _iso(best.night.at, zone),
        "saved": round(best.saved, DECIMALS),
    }
    chances = {state: round(chance, DECIMALS) for state, chance in meaning.chances._asdict().items()}
    likelihood = round(meaning.likelihood, DECIMALS)
    return {"part": meaning.part, "value": meaning.value, "likelihood": likelihood, **chances, "catch": night}


def _plan_json(plan: Plan, zone: ZoneInfo) -> dict[str, Any]:
    night = {"night": plan.night.date.isoformat(), "at": _iso(plan.night.at, zone)}
    return {"way": plan.way, **night, "saved": plan.saved, "risk": plan.risk, "people": plan.people}


def _learned_json(learned: Learned) -> dict[str, Any]:
    return {
        "broods": learned.broods,
        "own_broods": learned.own_broods,
        "hatch_days": learned.hatch.median(),
        "mouth_days": learned.mouth.median() if learned.mouth else None,
        "early_chance": learned.early_chance,
    }
