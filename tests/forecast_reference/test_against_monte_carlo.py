"""The product's forecast against the stored values of the plain Monte Carlo of the same model."""

import json

import pytest

from forecast_reference.broods import BROODS
from forecast_reference.evidence import days
from forecast_reference.make_values import VALUES
from forecast_reference.product import told
from forecast_reference.truth import STATES, STEPS

STORED = json.loads(VALUES.read_text())
MEDIAN_DAYS = {step: 0.10 if step.startswith("released") else 0.05 for step in STEPS}
OUTER_DAYS = {step: 0.40 if step.startswith("released") else 0.15 for step in STEPS}
LOSS_CHANCE, STATE_CHANCE, SAVED = 0.005, 0.02, 0.01


@pytest.fixture(scope="module", params=BROODS)
def both(request, tmp_path_factory):
    """What the product tells of a brood, and what is stored of it."""
    return told(BROODS[request.param], tmp_path_factory.mktemp("brood")), STORED[request.param]


def _days_apart(product: dict, stored: dict, quantile: str) -> dict[str, float]:
    return {step: abs(days(product[step][quantile]) - days(stored[step][quantile])) for step in STEPS}


def test_the_median_of_every_step_is_that_of_plain_monte_carlo(both):
    apart = _days_apart(*both, "q50")
    assert {step: d for step, d in apart.items() if d > MEDIAN_DAYS[step]} == {}


@pytest.mark.parametrize("quantile", ["q05", "q95"])
def test_the_outer_quantiles_of_every_step_are_those_of_plain_monte_carlo(both, quantile):
    apart = _days_apart(*both, quantile)
    assert {step: d for step, d in apart.items() if d > OUTER_DAYS[step]} == {}


def test_the_chance_of_loss_now_and_at_every_night_is_that_of_plain_monte_carlo(both):
    product, stored = both
    assert abs(product["now"]["lost"] - stored["now"]["lost"]) < LOSS_CHANCE
    pairs = zip(product["nights"], stored["nights"], strict=True)
    assert max((abs(mine["lost"] - theirs["lost"]) for mine, theirs in pairs), default=0.0) < LOSS_CHANCE


def test_the_six_chances_are_those_of_plain_monte_carlo(both):
    """The page sets no tolerance for the other five; this is four times the standard error at 2,000 points."""
    product, stored = both
    assert {s for s in STATES if abs(product["now"][s] - stored["now"][s]) > STATE_CHANCE} == set()
    assert sum(product["now"].values()) == pytest.approx(1, abs=1e-9)


def test_the_nights_bear_the_same_dates_and_instants_and_save_as_much(both):
    product, stored = both
    assert [night["night"] for night in product["nights"]] == [night["night"] for night in stored["nights"]]
    for mine, theirs in zip(product["nights"], stored["nights"], strict=True):
        assert abs(days(mine["at"]) - days(theirs["at"])) < 2 / 86400
        assert abs(mine["saved"] - theirs["saved"]) < SAVED


def test_the_night_to_catch_is_worth_what_the_best_night_of_plain_monte_carlo_is(both):
    """Two nights within the sampling error of each other may change places; what he saves may not."""
    product, stored = both
    assert (product["catch"] is None) == (stored["catch"] is None)
    if stored["catch"]:
        worth = {night["night"]: night["saved"] for night in stored["nights"]}
        assert abs(worth[product["catch"]["night"]] - stored["catch"]["saved"]) < SAVED


def test_the_same_look_is_in_conflict_and_as_many_parts_are_not_believed(both, request):
    product, stored = both
    looks = BROODS[request.node.callspec.params["both"]]["looks"]
    expected = stored["conflict"] and f"at {looks[stored['conflict']['look']]['at']}"
    assert (product["conflict"] and product["conflict"]["look"]) == expected
    mine = sorted((doubt["look"], doubt["part"]) for doubt in product["not_believed"])
    assert mine == sorted((f"at {looks[doubt['look']]['at']}", doubt["part"]) for doubt in stored["not_believed"])
