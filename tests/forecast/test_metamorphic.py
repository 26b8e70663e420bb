"""What must not change the forecast, and what may change it one way only."""

import random
from dataclasses import replace
from datetime import time, timedelta

import numpy as np
import pytest

from forecast.household import NOW, tank
from holdwatch.domain.clock import days_between
from holdwatch.domain.forecast import Spawn, believe, forecast, to_json
from holdwatch.domain.looks import Look

SHIFT = timedelta(hours=3)
STEPS = ("spawned", "silver", "hatched", "released", "released_last")


def figures(told) -> np.ndarray:
    """Return every figure of a forecast: days of the quantiles from `NOW`, chances, shares saved."""
    days = [(at - NOW) / timedelta(days=1) for step in STEPS for at in getattr(told, step)]
    chances = [*told.now, *(share for night in told.nights for share in (night.saved, *night.chances))]
    return np.array([*days, *chances, *(share for point in told.grid for share in point.chances)])


def test_order_and_duplicates_of_looks_readings_and_courtships_change_nothing(
    banggai, brood, held_evenings, hourly_readings
):
    known = {"looks": held_evenings, "readings": hourly_readings, "courtship": (NOW - timedelta(days=22),)}
    plain = figures(forecast(brood(**known), banggai))
    shuffled = {name: random.Random(7).sample([*values, *values], 2 * len(values)) for name, values in known.items()}
    shuffled["courtship"] = known["courtship"]
    again = figures(forecast(brood(**{name: tuple(values) for name, values in shuffled.items()}), banggai))
    assert again == pytest.approx(plain, abs=1e-9)


def test_parts_not_seen_change_nothing(banggai, brood, held_evenings):
    blind = tuple(Look(f"blind {n}", NOW - timedelta(days=n, hours=12), "red") for n in range(1, 9))
    plain = forecast(brood(looks=held_evenings), banggai)
    assert forecast(brood(looks=(*held_evenings, *blind)), banggai) == plain


def test_shifting_every_instant_and_the_lamps_by_three_hours_shifts_every_answer_by_three_hours(
    banggai, brood, held_evenings, hourly_readings
):
    courtship = NOW - timedelta(days=22)
    plain = brood(looks=held_evenings, readings=hourly_readings, courtship=(courtship,), tank=tank(lamps_out=time(20)))
    shifted = replace(
        plain,
        now=NOW + SHIFT,
        looks=tuple(replace(look, at=look.at + SHIFT) for look in held_evenings),
        readings=tuple(reading._replace(at=reading.at + SHIFT) for reading in hourly_readings),
        courtship=(courtship + SHIFT,),
        tank=tank(lamps_out=time(23), lamps_on=time(11)),
    )
    before, after = forecast(plain, banggai), forecast(shifted, banggai)
    for step in STEPS:
        moved = [(b - a) / timedelta(days=1) for a, b in zip(getattr(before, step), getattr(after, step), strict=True)]
        assert moved == pytest.approx([0.125] * 7, abs=1e-9)
    assert [night.at + SHIFT for night in before.nights] == [night.at for night in after.nights]
    assert figures(after)[35:] == pytest.approx(figures(before)[35:], abs=1e-9)


@pytest.mark.parametrize("days_ago", [2.5, 4.5, 6.5, 10.5])
@pytest.mark.parametrize("spawn_days_ago", [17, 19, 21])
def test_tails_seen_while_he_surely_holds_never_move_the_hatch_later(banggai, brood, days_ago, spawn_days_ago):
    """An instant when the chance of released or lost is under 0.001; 0.005 d is the grain of the points."""
    at = NOW - timedelta(days=days_ago)
    looks = tuple(Look(f"{n}", NOW - timedelta(days=n), "daylight", mouth="full") for n in range(0, 17, 2))
    plain = brood(looks=looks, spawn=Spawn(NOW - timedelta(days=spawn_days_ago), 600))
    lost_then = forecast(replace(plain, now=at, looks=tuple(look for look in looks if look.at <= at)), banggai).now.lost
    # A full mouth in daylight afterwards, twice, leaves of that chance (0.02 / 0.90) squared.
    belief = believe(plain, banggai)
    let_go = float(np.sum(belief.weights[belief.steps.released_last < days_between(belief.origin, at)]))
    gone = let_go + lost_then * (0.02 / 0.90) ** 2
    assert gone < 0.001
    seen = replace(plain, looks=(*looks, Look("tails", at, "dim_white", tails="seen")))
    pairs = zip(forecast(plain, banggai).hatched, forecast(seen, banggai).hatched, strict=True)
    assert max((after - before) / timedelta(days=1) for before, after in pairs) <= 0.005


def test_the_same_evidence_gives_the_same_forecast_to_the_last_bit(banggai, brood, held_evenings):
    evidence = brood(looks=held_evenings)
    assert to_json(forecast(evidence, banggai)) == to_json(forecast(evidence, banggai))


def test_a_cooler_tank_moves_every_later_step_later(banggai, brood):
    spawn = Spawn(NOW - timedelta(days=5), 60)
    warm = forecast(brood(spawn=spawn), banggai)
    cool = forecast(brood(spawn=spawn, tank=tank(set_point_c=25.0)), banggai)
    for step in STEPS[1:]:
        assert all(a < b for a, b in zip(getattr(warm, step), getattr(cool, step), strict=True))
