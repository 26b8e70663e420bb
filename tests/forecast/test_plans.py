"""Netting him on the night against moving him ahead, in cases that can be done by hand."""

from dataclasses import replace
from datetime import timedelta

import pytest

from forecast.household import NOW, tank
from holdwatch.domain.forecast import Spawn, forecast
from holdwatch.domain.species import Plans


def _with_plans(profile, **changes):
    return replace(profile, plans=replace(profile.plans, **changes))


@pytest.fixture
def evidence(brood):
    return brood(spawn=Spawn(NOW - timedelta(days=9), 60))


def _plan(told, way):
    return next(plan for plan in told.plans if plan.way == way)


def test_a_net_that_never_fails_saves_what_its_night_saves_less_what_it_costs_the_male(banggai, evidence):
    told = forecast(evidence, _with_plans(banggai, net_succeeds=1.0, male_cost=0.5))
    over_eggs = told.catch.chances.eggs + told.catch.chances.eyed
    assert _plan(told, "net").saved == pytest.approx(told.catch.saved - 0.5 * over_eggs, abs=1e-12)


def test_a_net_that_can_fail_tries_again_night_after_night(banggai, evidence):
    """V(n) = p saved(n) + (1 - p)(1 - l) V(n + 1), summed here forwards as a series."""
    told = forecast(evidence, _with_plans(banggai, male_cost=0.0))
    plans: Plans = banggai.plans
    ahead = [night.saved for night in told.nights if night.at >= told.catch.at]
    again = (1 - plans.net_succeeds) * (1 - plans.failed_try_loses)
    by_hand = sum(plans.net_succeeds * again**n * saved for n, saved in enumerate(ahead))
    assert _plan(told, "net").saved == pytest.approx(by_hand, rel=1e-12)


def test_moving_him_ahead_saves_what_is_never_lost_times_what_is_safe_alone(banggai, evidence):
    """With no loss in the profile nothing but the move itself can go wrong: (1 - r) v_alone."""
    safe = replace(banggai.loss, early_chance_experienced=0.0, hazard_per_day=0.0)
    told = forecast(evidence, replace(banggai, loss=safe))
    expected = (1 - banggai.plans.move_risk) * banggai.worth.free_alone
    assert _plan(told, "ahead").saved == pytest.approx(expected, abs=1e-3)


def test_he_is_moved_at_around_two_thirds_of_the_hold(banggai, evidence):
    told = forecast(evidence, banggai)
    plan = _plan(told, "ahead")
    due = told.spawned.q50 + banggai.plans.move_at_share * (told.released.q50 - told.spawned.q50)
    assert timedelta(0) <= plan.night.at - due < timedelta(days=1)
    assert plan.night.at <= told.catch.at


def test_a_male_who_sits_alone_is_not_moved(banggai, brood):
    alone = brood(spawn=Spawn(NOW - timedelta(days=9), 60), tank=tank(company="alone"))
    assert [plan.way for plan in forecast(alone, banggai).plans] == ["net"]


def test_there_is_no_plan_where_there_is_no_night(banggai, brood):
    over = brood(spawn=Spawn(NOW - timedelta(days=70), 60))
    told = forecast(over, banggai)
    assert told.catch is None and told.plans == ()
