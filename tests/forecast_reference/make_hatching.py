"""Make values_hatching.json anew: `python -m forecast_reference.make_hatching`, from the folder of the tests."""

import time
from pathlib import Path

from .broods_hatching import DEGREE_DAY_ZERO_C, HATCHING
from .clock import DegreeDays
from .replicates import replicated
from .writing import write

SEED = 20261001
EFFECTIVE_POINTS = 400_000
VALUES = Path(__file__).with_name("values_hatching.json")


def make(name: str, effective_points: float = EFFECTIVE_POINTS) -> dict:
    """The forecast of one brood, with its own stated seeds; by degree-days where the brood asks for it."""
    zero_c = DEGREE_DAY_ZERO_C.get(name)
    clock = DegreeDays(zero_c) if zero_c is not None else None
    seed = SEED + 100 * list(HATCHING).index(name)
    return {"degree_days_zero_c": zero_c, **replicated(HATCHING[name], seed, effective_points, clock)}


def _make_all() -> dict[str, dict]:
    results = {}
    for name in HATCHING:
        begun = time.process_time()
        results[name] = make(name)
        effective = results[name]["effective_points"]
        print(f"{name}: {effective:.0f} effective points, {time.process_time() - begun:.1f} s")
    return results


if __name__ == "__main__":
    write(VALUES, _make_all())
