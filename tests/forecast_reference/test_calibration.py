"""Simulation-based calibration of the product (Talts et al. 2018, arXiv 1804.06788).

Of broods drawn from the model, the truth falls at any rank of the forecast equally often.
"""

import os
from datetime import UTC, datetime

import numpy as np
import pytest
from scipy.stats import binom, chisquare

from forecast_reference.product import believed, chance_before
from forecast_reference.simulate import Simulated, simulate

# 500 broods take a minute of one core, more on a busy machine.
pytestmark = pytest.mark.timeout(900)
BROODS = 500 if os.environ.get("HOLDWATCH_PROOF") == "1" else 160
FIRST_SEED = 18040678
STEPS = {"spawn": "spawned", "hatch": "hatched", "released": "released"}
BINS = BROODS // 16


@pytest.fixture(scope="module")
def simulated() -> list[Simulated]:
    """The simulated broods, each from its own seed."""
    print(f"seeds {FIRST_SEED} to {FIRST_SEED + BROODS - 1}")
    return [simulate(np.random.default_rng(FIRST_SEED + n)) for n in range(BROODS)]


@pytest.fixture(scope="module")
def beliefs(simulated, tmp_path_factory) -> list[dict[str, float]]:
    """Of each brood the forecast's chances that each step came before its true instant, and that he has lost them."""
    folder = tmp_path_factory.mktemp("broods")
    return [_ranks(brood, believed(brood.document, folder)) for brood in simulated]


def _ranks(brood: Simulated, belief) -> dict[str, float]:
    true = {step: datetime.fromtimestamp(brood.steps[name] * 86400, UTC) for step, name in STEPS.items()}
    now = datetime.fromisoformat(brood.document["now"])
    lost = 1 - float(belief.holding @ belief.survival.at((now - belief.origin).total_seconds() / 86400))
    return {**{step: chance_before(belief, step, at) for step, at in true.items()}, "lost": lost}


@pytest.mark.parametrize("step", STEPS)
def test_the_true_instant_falls_at_every_rank_equally_often(beliefs, step):
    counts = np.histogram([ranks[step] for ranks in beliefs], BINS, (0, 1))[0]
    print(f"seeds from {FIRST_SEED}: {counts.tolist()}")
    assert chisquare(counts).pvalue > 0.001


@pytest.mark.parametrize("step", STEPS)
def test_eight_in_ten_true_instants_lie_in_the_window_of_eighty_per_cent(beliefs, step):
    inside = sum(0.1 <= ranks[step] <= 0.9 for ranks in beliefs)
    low, high = binom.interval(0.999, BROODS, 0.8)
    print(f"seeds from {FIRST_SEED}: {inside} of {BROODS} inside")
    assert low <= inside <= high


def test_as_many_broods_are_lost_as_the_chances_of_loss_add_up_to(simulated, beliefs):
    """Sums of independent yes and no lie within 3.3 spreads of their mean in 999 of 1,000 cases."""
    chances = np.array([ranks["lost"] for ranks in beliefs])
    nows = [datetime.fromisoformat(brood.document["now"]).timestamp() / 86400 for brood in simulated]
    lost = sum(brood.lost is not None and brood.lost <= now for brood, now in zip(simulated, nows, strict=True))
    print(f"seeds from {FIRST_SEED}: {lost} lost, {chances.sum():.1f} expected")
    assert abs(lost - chances.sum()) < 3.3 * np.sqrt(np.sum(chances * (1 - chances)))


def test_false_full_mouths_before_the_spawn_are_among_the_looks(simulated):
    early = [
        look
        for brood in simulated
        for look in brood.document["looks"]
        if look.get("mouth") == "full"
        and datetime.fromisoformat(look["at"]).timestamp() / 86400 < brood.steps["spawned"]
    ]
    assert len(early) >= 5
