"""A tank's temperature as it comes down to phones: hourly means of 60 days in one compact row."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from datetime import datetime
from itertools import groupby
from typing import Any

from ...domain.temperature import HOUR, Gap, LeftOut, Trust, Water, hour_instant, hour_number
from ...records.instants import instant_text
from .lived_in import LivedIn
from .water import KNOWN_FOR, Measured

MOST_LEFT_OUT = 60
CENTI = 100
Body = dict[str, Any]


def temperature_body(measured: Measured, water: Water, lived: LivedIn | None, zone: str, now: datetime) -> Body:
    """The body of what is derived about the tank: hours in hundredths of a degree, null where nothing can be used.

    Both are of hours that are over alone, so that readings which flow in change it once an hour.
    """
    over = hour_number(now)
    first = over - KNOWN_FOR // HOUR
    return {
        "zone": zone,
        "from": instant_text(hour_instant(first)),
        "hours": _means(water, first, over),
        "left_out": [_left_out(one) for one in water.left_out[-MOST_LEFT_OUT:]],
        "left_out_more": max(0, len(water.left_out) - MOST_LEFT_OUT),
        "gaps": [_gap(one) for one in water.gaps],
        "thermometers": [{"name": name, "is_out": _is_out(name, measured.trusts)} for name in measured.hours],
        "together": list(water.together),
        "range": asdict(lived) if lived else None,
    }


def _means(water: Water, first: int, over: int) -> list[int | None]:
    """Hour by hour up to the last one that is known; a point belongs to the hour that its instant lies in."""
    known = {
        hour: round(CENTI * sum(values) / len(values))
        for hour, points in groupby(water.points, key=lambda point: hour_number(point.at))
        if first <= hour < over and (values := [point.celsius for point in points])
    }
    return [known.get(hour) for hour in range(first, max(known, default=first - 1) + 1)]


def _left_out(one: LeftOut) -> Body:
    return {
        "thermometer": one.thermometer,
        "since": instant_text(one.since),
        "until": instant_text(one.until),
        "why": one.why,
        "n": one.n,
        "low": round(CENTI * one.low_c),
        "high": round(CENTI * one.high_c),
        "is_used": one.is_used,
    }


def _is_out(name: str, trusts: Sequence[Trust]) -> bool:
    """Whether a keeper's last word on the thermometer as a whole is that it is wrong."""
    whole = [one for one in trusts if one.thermometer == name and one.since is None and one.until is None]
    return bool(whole) and not whole[-1].is_right


def _gap(one: Gap) -> Body:
    return {"since": instant_text(one.since), "until": instant_text(one.until) if one.until else None}
