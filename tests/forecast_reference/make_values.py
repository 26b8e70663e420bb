"""Make values.json anew: `python -m forecast_reference.make_values`, from the folder of the tests."""

import json
import time
from pathlib import Path

from .broods import BROODS
from .model import forecast

SEED = 20260301
EFFECTIVE_POINTS = 200_000
VALUES = Path(__file__).with_name("values.json")


def make(name: str) -> dict:
    """The forecast of one brood, with its own stated seed."""
    seed = SEED + list(BROODS).index(name)
    return {"seed": seed, **forecast(BROODS[name], seed, EFFECTIVE_POINTS)}


def _make_all() -> dict[str, dict]:
    results = {}
    for name in BROODS:
        begun = time.monotonic()
        results[name] = make(name)
        points, effective = results[name]["points"], results[name]["effective_points"]
        print(f"{name}: {points} points, {effective:.0f} effective, {time.monotonic() - begun:.1f} s")
    return results


if __name__ == "__main__":
    VALUES.write_text(json.dumps(_make_all(), indent=1, ensure_ascii=False) + "\n")
