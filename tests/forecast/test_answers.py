"""What a belief says when asked: the chances at many instants, summed once, against every brood counted at each."""

from datetime import datetime, timedelta

import numpy as np
import pytest

from forecast.household import NOW, tank
from holdwatch.config import load_profiles
from holdwatch.domain.clock import days_between
from holdwatch.domain.forecast import Belief, Ending, Evidence, Spawn, believe
from holdwatch.domain.forecast.answers import chances_at, quantiles
from holdwatch.domain.forecast.sample import weighted_median, weighted_quantiles
from holdwatch.domain.looks import Look

INSTANTS = tuple(NOW + timedelta(hours=5 * n) for n in range(110))
EMPTY_TWICE = tuple(Look(f"{n}", NOW - timedelta(days=n), "daylight", mouth="normal", food="ate") for n in (1, 2, 3))
FULL = tuple(Look(f"{n}", NOW - timedelta(days=n), "daylight", mouth="full", eggs="orange") for n in range(1, 12))
BROODS = {
    "nothing is known": {},
    "spawned a moment ago": {"spawn": Spawn(NOW - timedelta(minutes=5), 1)},
    "to be spawned within a year": {"not_before": NOW - timedelta(days=1), "not_after": NOW + timedelta(days=390)},
    "held for a year, if at all": {"not_before": NOW - timedelta(days=399), "not_after": NOW - timedelta(days=350)},
    "lost for sure": {"spawn": Spawn(NOW - timedelta(days=9), 60), "looks": EMPTY_TWICE},
    "seen orange for eleven days": {"looks": FULL},
    "long let go": {"spawn": Spawn(NOW - timedelta(days=70), 60)},
    "too cold to develop": {"spawn": Spawn(NOW - timedelta(days=9), 60), "tank": tank(set_point_c=-5.0)},
}


def counted(belief: Belief, at: datetime) -> list[float]:
    """The six chances at an instant, brood by brood."""
    days = days_between(belief.origin, at)
    kept = belief.holding * belief.survival.at(days)
    by_state = np.bincount(belief.steps.state(days), kept, minlength=6)
    return [by_state[0] + by_state[1], *by_state[2:], 1 - kept.sum()]


@pytest.fixture(params=["pterapogon_kauderni", "sphaeramia_nematoptera", "amphiprion_ocellaris"])
def profile(request):
    return load_profiles()[request.param]


@pytest.mark.parametrize("name", BROODS)
def test_the_chances_at_any_instant_are_those_of_every_brood_counted_then(profile, brood, name):
    evidence: Evidence = brood(**BROODS[name])
    belief = believe(evidence, profile)
    told = np.array(chances_at(belief, INSTANTS))
    assert told == pytest.approx(np.array([counted(belief, at) for at in INSTANTS]), abs=1e-12)
    assert told.min() >= 0 and told.sum(axis=1) == pytest.approx(1, abs=1e-12)


def test_what_is_lost_for_sure_leaves_no_chance_of_anything_else(banggai, brood):
    over = brood(spawn=Spawn(NOW - timedelta(days=9), 60), ending=Ending(NOW, "lost"), looks=EMPTY_TWICE)
    (chances,) = chances_at(believe(over, banggai), [NOW])
    assert chances.lost == pytest.approx(1, abs=1e-6) and sum(chances) == pytest.approx(1, abs=1e-12)


def test_asked_of_no_instant_it_says_nothing(banggai, brood):
    assert chances_at(believe(brood(), banggai), []) == ()


@pytest.mark.parametrize("name", BROODS)
def test_quantiles_rise_and_the_steps_follow_one_another(profile, brood, name):
    belief = believe(brood(**BROODS[name]), profile)
    steps = [quantiles(belief, step) for step in ("spawn", "silver", "hatch", "released", "released_last")]
    assert all(list(step) == sorted(step) for step in steps)
    for earlier, later in zip(steps, steps[1:], strict=False):
        assert all(one <= other for one, other in zip(earlier, later, strict=True))


def test_a_median_lies_between_the_middles_of_the_weights():
    """Of 1, 2 and 4 with weights a half, a quarter and a quarter, the middles are at 0.25, 0.625 and 0.875."""
    values, weights = np.array([1.0, 2.0, 4.0]), np.array([0.5, 0.25, 0.25])
    assert weighted_median(values, weights) == pytest.approx(1 + (0.5 - 0.25) / (0.625 - 0.25))
    assert weighted_quantiles(values, weights, (0.25, 0.625, 0.9)) == pytest.approx([1, 2, 4])
