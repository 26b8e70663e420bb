"""The reference's value of a look: against forecasts with that look added, limits, and the stored values."""

import json
import os
from itertools import product

import numpy as np
import pytest

from forecast_reference import numbers
from forecast_reference.evidence import days
from forecast_reference.likelihood import pose
from forecast_reference.look_value import Sums, _gain, _sums, advised, gain, if_seen, parts_askable, up_to
from forecast_reference.make_look import BROODS, CANDIDATES, VALUES, make
from forecast_reference.model import forecast
from forecast_reference.sampling import chunks
from forecast_reference.truth import STATES

PROOF = os.environ.get("HOLDWATCH_PROOF") == "1"
STORED = json.loads(VALUES.read_text())
QUICK_POINTS = {"gain": 10_000, "if_seen": 5_000}


def test_over_all_outcomes_the_nights_save_what_they_save_without_the_look():
    name = "tails perhaps, spawn not seen"
    problem = pose(BROODS[name])
    draws = next(chunks(problem, np.random.default_rng(1), 2_000))
    for candidate in CANDIDATES[name][:2]:
        sums = _sums(problem, candidate, draws)
        assert sums.outcome.sum() == pytest.approx(sums.weight)
        assert np.allclose(sums.both.sum(axis=0), sums.night)
        assert _gain(problem, candidate, sums)["gain"] >= -1e-12


def test_a_look_that_settles_between_two_nights_is_worth_what_one_counts_by_hand():
    """Half of the worth is on night 3, half on night 4, and two outcomes tell which."""
    name = "silver, no tails yet"
    problem, candidate = pose(BROODS[name]), CANDIDATES[name][0]
    both = np.zeros((2, 21))
    both[0, 3], both[1, 4] = 0.5 * 0.9, 0.5 * 0.8
    sums = Sums(1.0, np.array([0.5, 0.5]), both.sum(axis=0), both)
    assert _gain(problem, candidate, sums) == {"best_without": pytest.approx(0.45), "gain": pytest.approx(0.40)}


def test_the_gain_is_that_of_one_forecast_for_every_outcome():
    """Sixteen outcomes of a look at a nest, each forecast anew with its look written down; the rare ones coarsely."""
    candidate = CANDIDATES["clownfish: which evening"][0]
    document = BROODS["clownfish: which evening"] | {"now": candidate["at"]}
    problem = pose(document)
    parts = parts_askable(problem, candidate["light"])
    sums = _sums(problem, candidate, next(chunks(problem, np.random.default_rng(4), 20_000)))
    by_hand = -max(night["saved"] for night in forecast(document, 2, 200_000)["nights"])
    outcomes = product(*(numbers.OUTCOMES[part] for part in parts))
    for seed, (values, chance) in enumerate(zip(outcomes, sums.outcome / sums.weight, strict=True)):
        seen = candidate | dict(zip(parts, values, strict=True))
        told = forecast(document | {"looks": [*document["looks"], seen]}, seed, max(500, 40_000 * chance))
        by_hand += chance * max(night["saved"] for night in told["nights"])
    assert by_hand > 0.005
    assert gain(document, candidate, 6, 60_000)["gain"] == pytest.approx(by_hand, abs=0.005)


@pytest.fixture(scope="module")
def verdicts() -> dict:
    """What each outcome of one look would mean."""
    return if_seen(BROODS["silver, no tails yet"], CANDIDATES["silver, no tails yet"][2], 7, 10_000)["parts"]


@pytest.mark.parametrize("part, value", [("tails", "seen"), ("mouth", "normal"), ("eggs", "turning")])
def test_the_verdict_if_seen_is_the_forecast_after_that_look(verdicts, part, value):
    name = "silver, no tails yet"
    document, candidate, verdict = BROODS[name], CANDIDATES[name][2], verdicts[part][value]
    after = document | {"now": candidate["at"], "looks": [*document["looks"], {**candidate, part: value}]}
    told = forecast(after, 8, 10_000)
    for state in STATES:
        assert verdict["now"][state] == pytest.approx(told["now"][state], abs=0.03)
    for night in told["nights"]:
        assert verdict["saved"][night["night"]] == pytest.approx(night["saved"], abs=0.03)


def test_the_first_look_worth_its_cost_is_advised_and_none_after_the_catch_is_weighed():
    looks = [
        {"at": "2026-01-01T18:00:00+00:00", "light": "daylight", "cost": 0.0, "gain": 0.0},
        {"at": "2026-01-01T22:00:00+00:00", "light": "red", "cost": 0.004, "gain": 0.003},
        {"at": "2026-01-02T22:00:00+00:00", "light": "red", "cost": 0.004, "gain": 0.02},
    ]
    assert advised(looks) == {"at": "2026-01-02T22:00:00+00:00", "light": "red"}
    assert advised(looks[:2]) is None
    assert up_to({"at": "2026-01-01T22:30:00+00:00"}, looks) == looks[:2]
    assert up_to(None, looks) == []


def test_the_stored_gains_are_precise():
    for values in STORED.values():
        assert all(each["error"]["gain"] < 0.001 for each in values["gains"])


@pytest.mark.parametrize("name", BROODS)
def test_the_stored_values_come_from_this_model(name):
    """Coarsely from the first two looks every time, and from all of them in the proof."""
    fresh, stored = make(name, QUICK_POINTS, None if PROOF else 2), STORED[name]
    assert days(fresh["night"]["at"]) == days(stored["night"]["at"])
    for mine, theirs in zip(fresh["gains"], stored["gains"], strict=PROOF):
        assert mine["gain"] == pytest.approx(theirs["gain"], abs=0.006)
    for mine, theirs in zip(fresh["if_seen"], stored["if_seen"], strict=PROOF):
        for part, outcomes in mine["parts"].items():
            for value, verdict in outcomes.items():
                assert verdict["chance"] == pytest.approx(theirs["parts"][part][value]["chance"], abs=0.03)
