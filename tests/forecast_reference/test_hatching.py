"""The reference for species that hatch after dark: by hand, by quadrature, and that the stored values come from it."""

import os
from datetime import date, timedelta

import numpy as np
import pytest
from scipy.stats import norm

from forecast_reference import nights, numbers, prior
from forecast_reference.brood_forms import brood, look
from forecast_reference.broods_hatching import HATCHING
from forecast_reference.clock import instant_of
from forecast_reference.evenings import evening, lamps_outs
from forecast_reference.evidence import days
from forecast_reference.likelihood import likelihood, pose
from forecast_reference.make_hatching import make
from forecast_reference.model import forecast
from forecast_reference.species import CLOWNFISH, PAJAMA
from forecast_reference.stored import hatching_cases, sure_quantiles
from forecast_reference.truth import STATES, course, hatch_in_the_dark

PROOF = os.environ.get("HOLDWATCH_PROOF") == "1"
CASES = hatching_cases()


def test_lamps_out_after_midnight_belongs_to_the_evening_before():
    tank = {"zone": "Asia/Tokyo", "lamps_out": "00:15", "lamps_on": "11:30"}
    dark = evening(tank, date(2026, 1, 22))
    assert dark.lamps_out == days("2026-01-23T00:15:00+09:00")
    assert dark.lamps_on == days("2026-01-23T11:30:00+09:00")


def test_eggs_wait_for_the_first_lamps_out_that_with_their_wait_is_not_before_they_are_ready():
    rng = np.random.default_rng(1)
    outs = lamps_outs({"zone": "Europe/Rome", "lamps_out": "20:00", "lamps_on": "08:00"}, 20_530.0, 20_560.0)
    ready, wait = rng.uniform(20_532, 20_550, 500), rng.uniform(0, 0.125, 500)
    by_hand = [next(out + w for out in outs if out + w >= r) for r, w in zip(ready, wait, strict=True)]
    assert hatch_in_the_dark(outs, ready, wait).tolist() == by_hand


def _chance_hatched_by(evening_out: float, spawn: float, warmer_c: float) -> float:
    """Chance that eggs spawned at one instant hatch by an evening: sums over the wait, the offset and Q10."""
    z = np.linspace(-5, 5, 81)
    mass = norm.pdf(z) / norm.pdf(z).sum()
    wait = (np.arange(60) + 0.5) / 60 * numbers.HATCH_AFTER_DARK_DAYS
    log_q10 = np.log(numbers.Q10_MEDIAN) + numbers.Q10_LOG_SPREAD * z
    offset = numbers.OFFSET_C_UNCOVERED * z
    pace = np.exp(log_q10[:, None] * (warmer_c + offset) / 10)
    gone = (evening_out + wait - spawn)[:, None, None] * pace
    ready = norm.cdf(np.log(gone / PAJAMA.hatch_median_days) / PAJAMA.hatch_log_spread())
    return float((ready.mean(axis=0) * mass[:, None] * mass).sum())


def test_without_looks_the_evenings_have_the_chances_of_a_quadrature():
    """Constant temperature 1 deg C above the reference, a spawn seen to the minute."""
    document = brood(
        "2026-02-05T12:00:00+00:00",
        species=PAJAMA.name,
        tank={"set_point_c": 28.0},
        spawn={"at": "2026-02-01T19:00:00+00:00", "error_min": 1},
    )
    chances = forecast(document, 2, 100_000)["evenings"]
    spawn, out = days("2026-02-01T19:00:00+00:00"), days("2026-02-07T21:30:00+00:00")
    by = [_chance_hatched_by(out + k - 1, spawn, 1.0) for k in range(5)]
    for k in range(4):
        day = (date(2026, 2, 7) + timedelta(days=k)).isoformat()
        assert chances[day] == pytest.approx(by[k + 1] - by[k], abs=0.006), day


def test_a_hatch_after_seven_to_eight_days_is_not_surprising_in_a_clownfish():
    """Raheem et al. (Indian J. Fish.): 7 to 8 d; no number of the profile comes from it."""
    spawn = "2026-02-01T11:00:00+00:00"
    document = brood(
        "2026-02-02T12:00:00+00:00",
        species=CLOWNFISH.name,
        tank={"set_point_c": 27.0, "lamps_out": "19:00", "lamps_on": "07:00"},
        spawn={"at": spawn, "error_min": 30},
    )
    hatched = forecast(document, 3, 20_000)["hatched"]
    assert days(hatched["q05"]) - days(spawn) < 7
    assert days(hatched["q95"]) - days(spawn) > 7.2


def test_what_a_night_saves_is_what_one_counts_brood_by_brood():
    problem, rng = pose(HATCHING["pajama: asked in the dark"]), np.random.default_rng(4)
    broods = course(problem.clock, prior.draw(problem.prior, rng, 400))
    loss = prior.draw_loss(problem.prior, rng, broods.spawned)
    since = nights.list_nights(problem.brood)[0].evening.lamps_out
    assert since < problem.brood.now
    for night in nights.list_nights(problem.brood)[:4]:
        begins, ends = night.evening.lamps_out, night.evening.lamps_on
        worth = []
        for hatch, lost in zip(broods.hatched, loss, strict=True):
            ended_by_loss = lost < hatch
            if ended_by_loss:
                worth.append(0.05 if lost > ends else 0.0)
            elif hatch >= ends:
                worth.append(0.05)
            else:
                worth.append(0.95 if hatch >= begins else 0.10 if hatch > since else 0.0)
        assert sum(nights.saved(problem.brood, broods, loss, night)).tolist() == pytest.approx(worth)


def test_of_a_nest_guarder_mouth_tails_and_food_say_nothing():
    document = HATCHING["clownfish: silver the evening before"]
    more = {"mouth": "normal", "tails": "seen", "food": "ate"}
    told = document | {"looks": [seen | more for seen in document["looks"]]}
    problem, rng = pose(document), np.random.default_rng(5)
    broods = course(problem.clock, prior.draw(problem.prior, rng, 500))
    loss = prior.draw_loss(problem.prior, rng, broods.spawned)
    same = [likelihood(pose(each).brood, broods, loss, True).tolist() for each in (document, told)]
    assert same[0] == same[1]


def test_a_clutch_that_is_there_is_the_first_sign_of_a_brood():
    signs = [look("2026-05-10T18:00:00+00:00", clutch="gone"), look("2026-05-12T18:00:00+00:00", clutch="there")]
    read = pose(brood("2026-05-14T12:00:00+00:00", species=CLOWNFISH.name, looks=signs)).brood
    assert read.earliest == days("2026-05-12T18:00:00+00:00") - 30


@pytest.mark.parametrize("name", ["pajama: spawn not seen", "clownfish: hatched"])
def test_no_hatch_comes_before_the_eggs_are_ready_or_more_than_three_hours_after_lamps_out(name):
    problem, rng = pose(HATCHING[name]), np.random.default_rng(6)
    points = prior.draw(problem.prior, rng, 5_000)
    broods = course(problem.clock, points)
    ready = instant_of(problem.clock, broods.points, broods.spawn_reading + np.exp(points[:, prior.LOG_HATCH]))
    evenings = np.searchsorted(problem.clock.lamps_outs, broods.hatched, side="right") - 1
    after = broods.hatched - problem.clock.lamps_outs[evenings]
    assert np.all(broods.hatched >= ready) and np.all(broods.silver < broods.hatched)
    assert np.all(broods.hatched - ready < 1 + numbers.HATCH_AFTER_DARK_DAYS + 1 / 24)
    assert np.all((after >= -1e-9) & (after <= numbers.HATCH_AFTER_DARK_DAYS + 1e-9))


@pytest.mark.parametrize("name", HATCHING)
def test_the_stored_values_come_from_this_model(name):
    """Coarsely from a few points every time, and in full in the proof."""
    stored = CASES[name].values
    effective, apart, chance_apart = (100_000, 0.02, 0.005) if PROOF else (10_000, 0.15, 0.03)
    fresh = make(name, effective)
    for quantile in {"q25", "q50", "q75"} & set(sure_quantiles(stored)):
        assert abs(days(fresh["hatched"][quantile]) - days(stored["hatched"][quantile])) < apart
    assert {s for s in STATES if abs(fresh["now"][s] - stored["now"][s]) > chance_apart} == set()
    for day, chance in stored.get("evenings", {}).items():
        assert abs(fresh["evenings"].get(day, 0.0) - chance) < chance_apart


def test_every_stored_value_has_its_hundred_thousand_effective_points():
    assert list(CASES) == list(HATCHING)
    assert all(case.values["effective_points"] >= 100_000 for case in CASES.values())
