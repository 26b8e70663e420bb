"""The next look and the verdict at the glass, against the forecast made again after each finding."""

from collections import defaultdict
from dataclasses import replace
from datetime import UTC, timedelta
from itertools import product

import numpy as np
import pytest

from forecast.household import NOW, tank
from holdwatch.config import load_profiles
from holdwatch.domain.forecast import Spawn, believe, forecast
from holdwatch.domain.forecast.looking import ASKED, COST, Outlook, chances_to_look, foresee, gain
from holdwatch.domain.forecast.loss import fate
from holdwatch.domain.forecast.nights import night_worths
from holdwatch.domain.forecast.sight import sights
from holdwatch.domain.forecast.steps import course
from holdwatch.domain.looks import VALUES, Look

# Both are sums over some thousands of effective points, the forecast after a look often over other ones.
CHANCE, SAVED = 0.02, 0.02


@pytest.fixture
def halfway(brood):
    """A hold of twelve days with a look every other evening; it is ten in the morning."""
    now = NOW - timedelta(hours=10)
    looks = tuple(
        Look(f"evening {days}", NOW - timedelta(days=days, hours=-2), "red", mouth="full", tails="none")
        for days in range(12, 0, -2)
    )
    return brood(now=now, looks=looks, spawn=Spawn(NOW - timedelta(days=13), 600))


@pytest.fixture
def nearly(brood, held_evenings):
    """A hold in which tails have been seen for three evenings."""
    return brood(now=NOW + timedelta(hours=14), looks=held_evenings)


@pytest.mark.parametrize("hold", ["halfway", "nearly"])
def test_the_verdict_at_the_glass_is_the_forecast_after_that_look(banggai, request, hold):
    """Only looks are compared that are not one with an evening before them; the others are told apart below."""
    evidence = request.getfixturevalue(hold)
    told = forecast(evidence, banggai)
    likely = [one for one in told.if_seen if one.likelihood > 0.01][::3]
    assert len(likely) > 12
    for one in likely:
        look = Look("new", one.chance.at, one.chance.light, **{one.part: one.value})
        after = forecast(replace(evidence, now=one.chance.at, looks=(*evidence.looks, look)), banggai)
        apart = [abs(mine - theirs) for mine, theirs in zip(one.chances, after.now, strict=True)]
        assert max(apart) < CHANCE, (one.part, one.value, one.chances, after.now)
        assert (one.night is None) == (after.catch is None)
        if one.night and after.catch:
            saved = {night.night: night.saved for night in after.nights}
            assert saved[one.night.night.date] == pytest.approx(after.catch.saved, abs=SAVED)


def test_each_look_foretold_tells_of_every_value_of_what_can_be_asked_then(banggai, halfway):
    told = forecast(halfway, banggai)
    by_look = defaultdict(lambda: defaultdict(list))
    for one in told.if_seen:
        by_look[one.chance][one.part].append((one.value, one.likelihood))
    assert len(by_look) == 6
    for chance, parts in by_look.items():
        assert set(parts) == set(ASKED[chance.light]) - {"clutch"}
        for part, values in parts.items():
            assert [value for value, _ in values] == list(VALUES[part])
            assert sum(likelihood for _, likelihood in values) == pytest.approx(1, abs=1e-9)


def test_no_look_ahead_is_by_torch_and_eggs_are_asked_by_day_alone(banggai, halfway):
    lights = {one.chance.light for one in forecast(halfway, banggai).if_seen}
    assert lights == {"daylight", "red"}
    assert "eggs" not in ASKED["red"] and "torch" not in COST


def test_the_chances_after_all_findings_together_are_those_before(banggai, halfway):
    """Total probability: weighed by how likely they are, the verdicts average to what is believed without a look."""
    told = forecast(halfway, banggai)
    belief = believe(halfway, banggai)
    first = told.if_seen[0].chance
    kept = belief.holding * belief.survival.at((first.at - belief.origin.astimezone(UTC)) / timedelta(days=1))
    mouth = [one for one in told.if_seen if one.chance == first and one.part == "mouth"]
    held = sum(one.likelihood * (1 - one.chances.lost) for one in mouth)
    assert held == pytest.approx(float(kept.sum()), abs=1e-9)


def test_the_value_of_a_look_is_that_of_weighing_all_broods_again_after_every_outcome(banggai, nearly):
    """Brute force: each joint outcome of tails, mouth and loose fry is put among the looks, over the same points."""
    belief, ahead_course = believe(nearly, banggai), course(nearly, banggai)
    worths = tuple(night_worths(belief, nearly, banggai))
    ahead = Outlook(belief, nearly, banggai, worths)
    chance = next(one for one in chances_to_look(nearly, [worth.night for worth in worths]) if one.light == "red")
    before = np.sum(belief.ratio * np.exp(belief.fate.log_likelihood()))
    best = 0.0
    for tails, mouth, loose in product(VALUES["tails"], VALUES["mouth"], VALUES["loose_fry"]):
        look = Look("new", chance.at, "red", mouth=mouth, tails=tails, loose_fry=loose)
        seen = sights(replace(nearly, now=chance.at, looks=(*nearly.looks, look)), banggai, ahead_course)
        told = fate(seen, belief.steps, banggai, belief.survival)
        kept = belief.ratio * told.kept * np.exp(told.scale)
        best += max(np.sum(kept * belief.survival.at(worth.days) * worth.saved) for worth in worths) / before
    foreseen = foresee(chance, ahead)
    assert foreseen.first == 0
    assert gain(foreseen) == pytest.approx(best - ahead.best, abs=1e-9)


def test_a_look_never_makes_the_best_night_worse(banggai, halfway, nearly):
    for evidence in (halfway, nearly):
        belief = believe(evidence, banggai)
        ahead = Outlook(belief, evidence, banggai, tuple(night_worths(belief, evidence, banggai)))
        nights = [worth.night for worth in ahead.worths]
        for chance in list(chances_to_look(evidence, nights))[:4]:
            foreseen = foresee(chance, ahead)
            if foreseen.first == 0:
                parts = [gain(foreseen, [finding]) for finding in foreseen.asked]
                assert -1e-12 < min(parts) and max(parts) <= gain(foreseen) + 1e-12


def test_a_look_is_advised_where_it_can_change_the_night_and_says_what_to_look_for(banggai, halfway):
    told = forecast(halfway, banggai)
    look = told.next_look
    assert look is not None and look.gain > look.cost
    assert told.catch is not None and halfway.now < look.chance.at < told.catch.at
    assert look.look_for in ASKED[look.chance.light]


def test_nothing_is_left_to_look_for_when_all_is_over(banggai, brood):
    empty = tuple(
        Look(f"{days}", NOW - timedelta(days=days), "daylight", mouth="normal", eggs="none", food="ate")
        for days in range(3)
    )
    held = tuple(Look(f"held {days}", NOW - timedelta(days=days), "red", mouth="full") for days in range(6, 12))
    told = forecast(brood(looks=(*held, *empty)), banggai)
    assert told.catch is None and told.next_look is None


def test_a_second_look_within_three_hours_asks_only_what_was_not_asked(banggai, brood, held_evenings):
    """Looks within 3 h are one: a part already seen under as good a light says nothing new."""
    tonight = NOW + timedelta(hours=1)
    last = Look("tonight", tonight, "daylight", mouth="full", food="ignored")
    evidence = brood(now=tonight, looks=(*held_evenings[:-1], last))
    told = forecast(evidence, banggai)
    soon = [one for one in told.if_seen if one.chance.light == "red" and one.chance.at - tonight < timedelta(hours=3)]
    assert {one.part for one in soon} == {"tails", "loose_fry"}
    for one in soon:
        look = Look("new", one.chance.at, "red", **{one.part: one.value})
        after = forecast(replace(evidence, now=one.chance.at, looks=(*evidence.looks, look)), banggai)
        assert max(abs(a - b) for a, b in zip(one.chances, after.now, strict=True)) < CHANCE


def test_looks_are_foretold_at_the_lamp_times_of_the_tank(banggai, halfway):
    shifted = replace(halfway, tank=tank(lamps_out=halfway.tank.lamps_out.replace(hour=21)))
    early = next(one for one in forecast(shifted, banggai).if_seen if one.chance.light == "red")
    late = next(one for one in forecast(halfway, banggai).if_seen if one.chance.light == "red")
    assert late.chance.at - early.chance.at == timedelta(hours=1)


def test_a_nest_is_never_looked_at_in_the_dark(brood):
    """McAlary & McFarland 1993 (Environ. Biol. Fishes 37:237-244): dark broken by a minute of light hatched none."""
    clownfish = load_profiles()["amphiprion_ocellaris"]
    told = forecast(brood(spawn=Spawn(NOW - timedelta(days=3), 60)), clownfish)
    assert {one.chance.light for one in told.if_seen} == {"daylight"}
    assert {one.part for one in told.if_seen} == {"clutch", "eggs", "loose_fry"}
    assert told.next_look is None or told.next_look.chance.light == "daylight"


@pytest.mark.parametrize(("hour", "light"), [(21.0, "daylight"), (23.5, "red"), (30.0, "red")])
def test_a_look_whose_hour_has_passed_can_be_made_while_its_light_lasts(banggai, brood, held_evenings, hour, light):
    """Who stands at the glass late wants a verdict too: now, until the lamps go out, or come on."""
    now = NOW.replace(hour=0) + timedelta(hours=hour)
    told = forecast(brood(now=now, looks=held_evenings[:-1]), banggai)
    first = told.if_seen[0].chance
    assert (first.at, first.light, first.night) == (now, light, NOW.date())
