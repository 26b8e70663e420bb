"""A look that contradicts the others is shown, never averaged away."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from forecast.household import NOW
from holdwatch.domain.forecast import BadEvidence, believe, forecast, to_json
from holdwatch.domain.forecast.contradiction import foretold_by_the_others
from holdwatch.domain.forecast.outcomes import outcome_table
from holdwatch.domain.looks import VALUES, Look


def evidence_of(belief) -> float:
    """Return the log of the chance of all findings, over every brood."""
    log_weights = np.log(belief.ratio) + belief.fate.log_likelihood()
    return float(np.log(np.mean(np.exp(log_weights - log_weights.max()))) + log_weights.max())


def test_what_the_others_foretell_of_a_look_is_the_ratio_of_the_evidence_with_and_without_it(
    banggai, brood, held_evenings
):
    """p(look | others) = p(all) / p(others), for each outcome of mouth, tails and eggs."""
    asked = Look("asked", NOW - timedelta(days=5), "daylight", mouth="full", tails="none", eggs="silver")
    plain = brood(looks=held_evenings)
    belief = believe(replace(plain, looks=(*held_evenings, asked)), banggai)
    (one,) = (one for one in foretold_by_the_others(belief, banggai) if one.sight.id == "asked")
    table = outcome_table(one.held, one.lost, one.sight, one.glimpse, banggai.seen)
    assert table.sum() == pytest.approx(1, abs=1e-9)
    without = evidence_of(believe(plain, banggai))
    for eggs, tails, mouth in ((2, 2, 0), (2, 0, 0), (0, 2, 0), (3, 2, 2), (1, 1, 1)):
        seen = {"eggs": VALUES["eggs"][eggs], "tails": VALUES["tails"][tails], "mouth": VALUES["mouth"][mouth]}
        given = believe(replace(plain, looks=(*held_evenings, replace(asked, **seen))), banggai)
        ratio = np.exp(evidence_of(given) - without)
        assert table[eggs, tails, mouth] == pytest.approx(ratio, rel=0.06, abs=2e-4)


def test_a_normal_mouth_amid_full_ones_is_a_conflict_and_named(banggai, brood, held_evenings):
    false = Look("false normal", NOW - timedelta(days=9), "daylight", mouth="normal", eggs="none", food="ate")
    told = forecast(brood(looks=(*held_evenings, false)), banggai)
    assert told.conflict is not None and told.conflict.look == "false normal"
    assert to_json(told)["conflict"]["look"] == "false normal"
    plain = forecast(brood(looks=held_evenings), banggai)
    assert abs(told.hatched.q50 - plain.hatched.q50) < timedelta(hours=3)


def test_tails_before_anything_can_have_hatched_are_not_believed(banggai, brood):
    looks = tuple(Look(f"{n}", NOW - timedelta(days=n), "daylight", mouth="full", eggs="orange") for n in range(4))
    early = Look("early", NOW - timedelta(days=1.5), "red", tails="seen")
    told = forecast(brood(looks=(*looks, early), not_before=NOW - timedelta(days=8)), banggai)
    assert [(doubt.look, doubt.part) for doubt in told.not_believed] == [("early", "tails")]
    assert told.conflict is None


def test_of_an_evening_with_several_looks_the_one_that_does_not_fit_is_named(banggai, brood):
    """A keeper is asked to correct it, and must not be led to a look that was right."""
    full = tuple(Look(f"{n}", NOW - timedelta(days=n), "daylight", mouth="full", eggs="orange") for n in range(1, 9))
    again = Look("slip", NOW - timedelta(days=4, hours=-2), "daylight", mouth="normal", tails="seen", food="ate")
    told = forecast(brood(looks=(*full, again), not_before=NOW - timedelta(days=12)), banggai)
    assert told.conflict is not None and told.conflict.look == "slip"
    assert {doubt.look for doubt in told.not_believed} == {"slip"}


def test_a_feeding_of_that_evening_is_not_named_for_the_look_that_contradicts(banggai, brood):
    full = tuple(Look(f"{n}", NOW - timedelta(days=n), "daylight", mouth="full", eggs="orange") for n in range(1, 9))
    fed = Look("feeding", NOW - timedelta(days=4.5, hours=1), "daylight", food="ate")
    dark = Look("look", NOW - timedelta(days=4.5), "red", mouth="normal", tails="seen")
    told = forecast(brood(looks=(*full, fed, dark), not_before=NOW - timedelta(days=12)), banggai)
    assert told.conflict is not None and told.conflict.look == "look"


def test_what_counts_under_the_best_light_is_what_is_not_believed(banggai, brood):
    full = tuple(Look(f"{n}", NOW - timedelta(days=n), "daylight", mouth="full", eggs="orange") for n in range(1, 9))
    red = Look("by red light", NOW - timedelta(days=4, hours=1), "red", tails="none")
    white = Look("by day", NOW - timedelta(days=4, hours=-1), "daylight", tails="seen")
    told = forecast(brood(looks=(*full, red, white), not_before=NOW - timedelta(days=12)), banggai)
    assert [(doubt.look, doubt.part) for doubt in told.not_believed] == [("by day", "tails")]


def test_hundreds_of_looks_that_exclude_each_other_still_leave_a_forecast(banggai, brood):
    """Beyond the range of floating point those in the middle are foretold nothing, and no figure is lost for it."""
    every = [Look(f"{n}", NOW - timedelta(hours=3.1 * n), "daylight", mouth="full", eggs="orange") for n in range(400)]
    silver = [replace(look, eggs="silver", tails="seen") for look in every[200:]]
    with np.errstate(invalid="raise"):
        belief = believe(brood(looks=(*every[:200], *silver)), banggai)
        judged = list(foretold_by_the_others(belief, banggai))
    assert 0 < len(judged) < len(every)
    assert all(one.weights.sum() == pytest.approx(1) for one in judged)


def test_evidence_that_agrees_has_neither_conflict_nor_doubt(banggai, brood, held_evenings):
    told = forecast(brood(looks=held_evenings), banggai)
    assert told.conflict is None and told.not_believed == ()


def test_people_who_saw_different_things_in_one_evening_are_shown(banggai, brood, held_evenings):
    other = Look("second pair of eyes", held_evenings[-2].at + timedelta(hours=1), "red", tails="none")
    told = forecast(brood(looks=(*held_evenings, other)), banggai)
    (odd,) = told.disagreements
    assert (odd.part, set(odd.values)) == ("tails", {"seen", "none"})


@pytest.mark.parametrize(
    "known, fault",
    [
        ({"looks": (Look("late", NOW + timedelta(hours=1), mouth="full"),)}, "look late .* after now"),
        (
            {"not_before": NOW - timedelta(days=2), "looks": (Look("old", NOW - timedelta(days=3), mouth="full"),)},
            "look old .* before the brood can have begun",
        ),
        ({"not_before": NOW}, "not_before .* before now"),
        ({"readings": ((NOW, 50.0),)}, "50 °C is outside"),
        ({"looks": (Look("odd", NOW, mouth="open"),)}, "mouth 'open' is none of full"),
        ({"looks": (Look("naive", NOW.replace(tzinfo=None), mouth="full"),)}, "no time zone"),
        (
            {"not_before": NOW - timedelta(days=2), "not_after": NOW - timedelta(days=3)},
            "not_after .* does not lie after",
        ),
    ],
)
def test_evidence_that_cannot_be_true_is_refused_in_words(brood, known, fault):
    with pytest.raises(BadEvidence, match=fault):
        brood(**known)
