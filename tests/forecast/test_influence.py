"""Which looks moved the forecast, against the forecast made without them."""

from dataclasses import replace
from datetime import timedelta

import pytest

from forecast.household import NOW
from holdwatch.domain.forecast import Spawn, forecast
from holdwatch.domain.looks import Look

HOURS = timedelta(hours=1.2)


def test_what_a_look_moved_is_the_forecast_less_the_one_without_it(banggai, brood, held_evenings):
    colour = Look("colour", NOW - timedelta(days=9), "daylight", mouth="full", eggs="orange")
    evidence = brood(looks=(*held_evenings, colour), spawn=Spawn(NOW - timedelta(days=21), 900))
    told = forecast(evidence, banggai)
    assert len(told.influences) == len(evidence.looks)
    for one in told.influences:
        others = tuple(look for look in evidence.looks if look.id != one.look)
        without = forecast(replace(evidence, looks=others), banggai)
        moved = told.hatched.q50 - without.hatched.q50
        assert abs(moved - timedelta(days=one.hatched_later_days)) < HOURS, one
        saved = {night.night: night.saved for night in without.nights}
        assert without.catch is not None and one.night_without is not None
        assert saved[one.night_without] == pytest.approx(without.catch.saved, abs=0.01)


def test_eggs_still_orange_put_hatching_off(banggai, brood, held_evenings):
    colour = Look("colour", NOW - timedelta(days=5), "daylight", mouth="full", eggs="orange")
    told = forecast(brood(looks=(*held_evenings[:-3], colour)), banggai)
    (one,) = (one for one in told.influences if one.look == "colour")
    assert one.hatched_later_days > 0.2


def test_a_brood_without_looks_has_nothing_that_moved_it(banggai, brood):
    assert forecast(brood(spawn=Spawn(NOW - timedelta(days=5), 60)), banggai).influences == ()
