"""The product's forecast of one brood against emcee, a general-purpose sampler, on the reference's posterior."""

import json
import os

import pytest

from forecast_reference.broods import BROODS
from forecast_reference.evidence import days
from forecast_reference.product import told
from forecast_reference.walk import NAME, SEED, STEPS_KEPT, VALUES, make, walk

# The walk in full takes some minutes, more on a busy machine.
pytestmark = pytest.mark.timeout(900)
PROOF = os.environ.get("HOLDWATCH_PROOF") == "1"
STORED = json.loads(VALUES.read_text())
QUICK_STEPS = 200


def _tolerance(step: str, quantile: str) -> float:
    late = step.startswith("released")
    return (0.10 if late else 0.05) if quantile == "q50" else (0.40 if late else 0.15)


def test_the_stored_walk_is_worth_ten_thousand_draws():
    assert STORED["effective_draws"] >= 10_000


def test_the_product_has_the_quantiles_of_the_walk(tmp_path):
    product, now = told(BROODS[NAME], tmp_path), days(BROODS[NAME]["now"])
    for step in STEPS_KEPT:
        for quantile in ("q05", "q50", "q95"):
            apart = days(product[step][quantile]) - now - STORED["days_from_now"][step][quantile]
            assert abs(apart) < _tolerance(step, quantile), (step, quantile, apart)


def test_walking_anew_gives_the_stored_quantiles():
    """Coarsely from a short walk every time, and in full in the proof."""
    print(f"seed {SEED + 1}")
    fresh, times = (make(), 1.0) if PROOF else (walk(BROODS[NAME], QUICK_STEPS, SEED + 1), 4.0)
    for step in STEPS_KEPT:
        for quantile in ("q05", "q50", "q95"):
            apart = fresh["days_from_now"][step][quantile] - STORED["days_from_now"][step][quantile]
            assert abs(apart) < times * _tolerance(step, quantile), (step, quantile, apart)
