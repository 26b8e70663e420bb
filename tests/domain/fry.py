"""A batch of young of our own invention, which tests bend as they need it."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from domain.hold import LAMPS_ON, LAMPS_OUT, ZONE, local
from holdwatch.config import load_profiles
from holdwatch.domain.duties import Batch, Lamps, Measure
from holdwatch.domain.ration import Tin

BATCH = "n1"
REARING = load_profiles()["pterapogon_kauderni"].rearing
BEGAN = local(10, 22, 30)
TIN = Tin(nauplii_per_gram=200_000, hours_to_hatch=20, measure="level blue spoon", measure_g=0.01)


def batch(**changes: Any) -> Batch:
    """Caught at 22:30 on the 10th, five days after hatching; 40 young in 40 litres, fed from the next morning on."""
    plain: dict[str, Any] = {
        "id": BATCH,
        "began": BEGAN,
        "lamps": Lamps(ZONE, LAMPS_OUT, LAMPS_ON),
        "rearing": REARING,
        "first_meal_at": local(11, 9),
        "hatched_at": BEGAN - timedelta(days=5),
        "alive": 40,
        "usual_c": 26.0,
        "litres": 40.0,
        "jug": Measure("white jug", 2.0),
        "portion": "two pipettes",
        "tin": TIN,
    }
    return Batch(**plain | changes)


def noon(day: int) -> datetime:
    """The noon of a day of November 2026 by the clock at the tank."""
    return local(day, 12)
