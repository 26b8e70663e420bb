"""How a brood, its looks and its readings are written in the JSON form of `holdwatch forecast`."""

import math
from datetime import datetime, timedelta

from .species import BANGGAI


def days_after(start: str, days: float) -> str:
    """The instant so many days after another, to the minute."""
    return (datetime.fromisoformat(start) + timedelta(minutes=round(1440 * days))).isoformat()


def readings(start: str, hours: float, step: float, centre_c: float, swing_c: float = 0.2) -> list[dict]:
    """Readings every so many hours with a daily swing about a centre."""
    times = [step * n for n in range(int(hours / step) + 1)]
    swings = [swing_c * math.sin(math.tau * h / 24) for h in times]
    return [
        {"at": days_after(start, h / 24), "temperature_c": round(centre_c + c, 2)}
        for h, c in zip(times, swings, strict=True)
    ]


def look(at: str, light: str = "daylight", **parts: str) -> dict:
    """A look and the parts that were seen."""
    return {"at": at, "light": light, **parts}


def brood(now: str, zone: str = "Europe/Lisbon", company: str = "others", experienced: bool = True, **evidence) -> dict:
    """A brood with its evidence, a Banggai cardinalfish's unless species=...; tank={...} changes single settings."""
    tank = {"zone": zone, "set_point_c": 26.0, "lamps_out": "21:30", "lamps_on": "09:30", "company": company}
    male = {"has_released_before": experienced}
    return {
        "species": evidence.pop("species", BANGGAI.name),
        "now": now,
        "tank": {**tank, **evidence.pop("tank", {})},
        "male": male,
        **evidence,
    }
