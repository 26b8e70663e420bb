"""What a look is worth and what each finding would mean, against brute force by plain Monte Carlo.

The reference forecasts each brood anew for every outcome of every look; the product reads all of them off one sum.
"""

from datetime import datetime, timedelta

import pytest

from forecast_reference.product import asked
from forecast_reference.stored import look_cases
from forecast_reference.truth import STATES
from holdwatch.domain.forecast import believe
from holdwatch.domain.forecast.glass import meanings
from holdwatch.domain.forecast.looking import Chance, Outlook, foresee, gain
from holdwatch.domain.forecast.nights import night_worths

CASES = look_cases()
# The page sets no tolerance for these; three to four standard errors at some thousand effective points of ours.
GAIN, LIKELIHOOD, STATE_CHANCE, SAVED = 0.005, 0.015, 0.025, 0.02


@pytest.fixture(scope="module", params=CASES)
def case(request, tmp_path_factory):
    """One brood: its evidence and profile, what the product believes of it, and what is stored."""
    one = CASES[request.param]
    evidence, profile = asked(one.document, tmp_path_factory.mktemp("brood"))
    belief = believe(evidence, profile)
    return Outlook(belief, evidence, profile, tuple(night_worths(belief, evidence, profile))), one.values


def _chance(stored: dict, ahead) -> Chance:
    at = datetime.fromisoformat(stored["at"])
    night = next(worth.night.date for worth in ahead.worths if worth.night.at > at - timedelta(hours=3))
    return Chance(night, at, stored["light"])


def test_what_a_look_gains_is_what_brute_force_gains(case):
    ahead, values = case
    for stored in values["gains"]:
        mine = gain(foresee(_chance(stored, ahead), ahead))
        assert abs(mine - stored["gain"]) < GAIN, (stored["at"], stored["light"], mine, stored["gain"])


def test_what_each_finding_means_is_the_forecast_after_it(case):
    ahead, values = case
    for stored in values["if_seen"]:
        found = {(one.part, one.value): one for one in meanings(foresee(_chance(stored, ahead), ahead))}
        for part, outcomes in stored["parts"].items():
            for value, expected in outcomes.items():
                mine = found[part, value]
                where = (stored["at"], part, value)
                assert abs(mine.likelihood - expected["chance"]) < LIKELIHOOD, where
                apart = [abs(mine.chances._asdict()[state] - expected["now"][state]) for state in STATES]
                # What is seen once in fifty times rests on as many fewer points.
                rare = 1 if expected["chance"] > 0.05 else 2.5
                assert max(apart) < STATE_CHANCE * rare, where
                _same_worth(mine.night, expected, SAVED * rare, where)


def _same_worth(night, expected: dict, tolerance: float, where: tuple) -> None:
    """Two nights as good as each other may change places; what they save may not."""
    assert (night is None) == (expected["catch"] is None), where
    if night:
        saved = expected["saved"][night.night.date.isoformat()]
        assert abs(saved - expected["catch"]["saved"]) < tolerance, where
        assert abs(night.saved - saved) < tolerance, where


def test_the_night_to_catch_before_any_look_is_as_good(case):
    ahead, values = case
    assert abs(ahead.best - values["night"]["saved"]) < SAVED
