"""Readings that a sensor sends: each is judged alone, and kept once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Literal

import numpy as np
import sqlalchemy as sa

from ...records.instants import BadInstant, milliseconds, parse_instant
from ...records.names import fault_of_name
from ..access import NotUsable
from ..derived import raise_revision
from ..watched_water import look_at_water_soon
from .keeping import AHEAD, KNOWN, NEW, keep_readings
from .tanks import tank_of
from .tokens import Sensor, count_request
from .values import BadTemperature, checked_celsius

OLDEST = timedelta(hours=48)
FIELDS = frozenset({"at", "temperature_c", "sensor"})
Word = Literal["taken", "known", "refused"]
OTHER_VALUE = "Another value is kept for this instant; the first one stays."


@dataclass(frozen=True)
class Verdict:
    """What became of one reading."""

    verdict: Word
    reason: str | None = None


@dataclass(frozen=True)
class Read:
    """A reading that can be kept, and its place in what was sent."""

    place: int
    thermometer: str
    at_ms: int
    millidegrees: int


class _Refusal(Exception):
    """Why a reading cannot be kept."""


def take_readings(db: sa.Connection, sensor: Sensor, sent: Sequence[Any], now: datetime) -> list[Verdict]:
    """Count the request, then keep what can be kept of it; a verdict for each reading in its order."""
    raise_revision(db, sensor.household_id, by=0)
    count_request(db, sensor, now)
    tank_of(db, sensor.household_id, sensor.tank_id)
    verdicts: dict[int, Verdict] = {}
    by_name: dict[str, list[Read]] = {}
    for place, raw in enumerate(sent):
        try:
            read = _read(place, raw, sensor.name, now)
            by_name.setdefault(read.thermometer, []).append(read)
        except _Refusal as refusal:
            verdicts[place] = Verdict("refused", str(refusal))
    for name, reads in by_name.items():
        verdicts |= _keep(db, sensor, name, reads)
    if any(verdict.verdict == "taken" for verdict in verdicts.values()):
        look_at_water_soon(db, sensor.household_id, sensor.tank_id, now)
    return [verdicts[place] for place in range(len(sent))]


def _keep(db: sa.Connection, sensor: Sensor, name: str, reads: Sequence[Read]) -> dict[int, Verdict]:
    at_ms = np.array([read.at_ms for read in reads], dtype=np.int64)
    millidegrees = np.array([read.millidegrees for read in reads], dtype=np.int64)
    try:
        outcome = keep_readings(db, sensor.household_id, sensor.tank_id, name, at_ms, millidegrees)
    except NotUsable as problem:
        return {read.place: Verdict("refused", str(problem)) for read in reads}
    return {read.place: _verdict(int(became)) for read, became in zip(reads, outcome, strict=True)}


def _verdict(became: int) -> Verdict:
    if became == NEW:
        return Verdict("taken")
    return Verdict("known") if became == KNOWN else Verdict("refused", OTHER_VALUE)


def _read(place: int, raw: Any, usual_name: str, now: datetime) -> Read:
    if not isinstance(raw, Mapping):
        raise _Refusal('A reading is an object such as {"at": "2026-11-25T20:10:00Z", "temperature_c": 26.1}.')
    if unknown := sorted(map(str, set(raw) - FIELDS)):
        raise _Refusal(f"A reading has no {unknown[0][:40]!a}; it has at, temperature_c and sensor.")
    return Read(place, _name(raw.get("sensor"), usual_name), _instant(raw.get("at"), now), _celsius(raw))


def _instant(raw: Any, now: datetime) -> int:
    try:
        at = parse_instant(raw)
    except BadInstant as bad:
        raise _Refusal(f"at: {bad}.") from None
    if at > now + AHEAD:
        raise _Refusal("at: this is more than 5 minutes ahead of the server's clock.")
    if at < now - OLDEST:
        raise _Refusal("at: this is more than 48 hours ago. Older readings can be imported from a file.")
    return milliseconds(at)


def _celsius(raw: Mapping[str, Any]) -> int:
    value = raw.get("temperature_c")
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise _Refusal("temperature_c: this must be a number, in °C.")
    try:
        return checked_celsius(float(value))
    except BadTemperature as bad:
        raise _Refusal(f"temperature_c: {bad}.") from None
    except OverflowError:
        raise _Refusal("temperature_c: this is larger than any thermometer shows.") from None


def _name(raw: Any, usual_name: str) -> str:
    if raw is None:
        return usual_name
    if fault := fault_of_name(raw) if isinstance(raw, str) else "must be text":
        raise _Refusal(f"sensor: this {fault}.")
    return raw.strip()
