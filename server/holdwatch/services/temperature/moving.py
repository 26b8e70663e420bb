"""Which broods' forecasts new readings may have moved, told from the clock alone and without a forecast."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

import sqlalchemy as sa

from ...domain.species import Profile
from ...domain.temperature import Point, development_days, hatch_shift_days, temperature_at
from ...records.instants import parse_instant
from ..derived import derived_body
from ..recomputing import ask_for_broods, broods_of
from ..sync.stored import Stored, read_stored

MOVED_DAYS = 0.1
FORECAST_PAUSE = timedelta(hours=1)
Body = Mapping[str, Any]
Readings = Sequence[tuple[datetime, float]]


def told_development(body: Body, readings: Readings, set_point_c: float, profile: Profile) -> float:
    """The development between a forecast's median spawn and median hatch, by these readings."""
    spawned, hatched = (parse_instant(body[step]["q50"]) for step in ("spawned", "hatched"))
    return development_days(readings, set_point_c, profile.development, spawned, hatched)


def ask_for_moved(
    db: sa.Connection,
    profiles: Mapping[str, Profile],
    household_id: str,
    tank: Stored,
    readings: Sequence[Point],
    now: datetime,
) -> None:
    """Ask for the forecasts of the tank's broods whose hatch these readings may have moved."""
    set_point_c = tank.value("set_point_c")
    if set_point_c is None:
        return
    broods = read_stored(db, household_id, broods_of(db, household_id, {tank.id}))
    fish = read_stored(db, household_id, {brood.value("about") for brood in broods.values() if brood.value("about")})
    moved = []
    for brood in broods.values():
        male = fish.get(brood.value("about") or "")
        profile = profiles.get(male.value("species") or "") if male else None
        body = derived_body(db, household_id, "forecast", brood.id)
        if profile and _may_move(body, readings, float(set_point_c), profile, now):
            moved.append((household_id, brood.id))
    ask_for_broods(db, moved, now)


def _may_move(body: Body | None, readings: Readings, set_point_c: float, profile: Profile, now: datetime) -> bool:
    if not body or body.get("error") or body.get("ended") or "development_days" not in body:
        return False
    if now - parse_instant(body["issued_at"]) < FORECAST_PAUSE:
        return False
    after = told_development(body, readings, set_point_c, profile)
    hatch_c = temperature_at(readings, set_point_c, parse_instant(body["hatched"]["q50"]))
    shift = hatch_shift_days(body["development_days"], after, hatch_c, profile.development)
    return abs(shift) >= MOVED_DAYS
