"""Evidence that cannot be true, said to a keeper: days by the tank's clock, no names of fields, and what to do."""

import re
from datetime import UTC, datetime, timedelta

import pytest

from forecast.household import NOW, tank
from holdwatch.domain.forecast import BadEvidence, Catch, Spawn
from holdwatch.domain.looks import Look

MACHINE_WORDS = re.compile(r"[a-z]_[a-z]|\d{4}-\d\d-\d\d|T\d\d:|[\[\]]")
BOUNDS = {"not_before": NOW - timedelta(days=2), "not_after": NOW - timedelta(days=3)}


@pytest.mark.parametrize(
    "known, said",
    [
        (BOUNDS, "He is said to have held by .*, but surely not before .*Correct when he took them up"),
        ({"not_before": NOW + timedelta(days=1)}, "that is still to come"),
        ({"looks": (Look("0197-ab", NOW + timedelta(hours=1), mouth="full"),)}, "^The look of .* is still to come"),
        (
            {"not_before": NOW - timedelta(days=2), "looks": (Look("0197-ab", NOW - timedelta(days=3), mouth="full"),)},
            "^The look of .* until then he surely did not hold",
        ),
        ({"courtship": (NOW + timedelta(days=1),)}, "^The courtship of .* is still to come"),
        ({"readings": ((NOW, 50.0),)}, "^The reading of .* of 50 °C lies outside -5 to 45 °C"),
        ({"looks": (Look("0197-ab", NOW, mouth="open"),)}, "^The look of .* says something unknown here"),
        ({"looks": (Look("0197-ab", NOW.replace(tzinfo=None), mouth="full"),)}, "which time zone"),
        ({"spawn": Spawn(NOW, -1)}, "^The spawning"),
        ({"catch": Catch(NOW, -1, 0, 0)}, "^The catch"),
    ],
)
def test_a_keeper_is_told_without_machine_words(brood, known, said):
    with pytest.raises(BadEvidence) as bad:
        brood(**known)
    plainly = bad.value.plainly()
    assert re.search(said, plainly), plainly
    assert not MACHINE_WORDS.search(plainly) and "0197-ab" not in plainly


def test_days_are_those_of_the_tank(brood):
    late = datetime(2026, 3, 18, 23, 30, tzinfo=UTC)
    with pytest.raises(BadEvidence) as bad:
        brood(
            now=late - timedelta(days=1), tank=tank(zone="Europe/Copenhagen"), looks=(Look("late", late, mouth="full"),)
        )
    assert bad.value.plainly() == "The look of 19 Mar 2026, 00:30, is still to come. Correct its time."
