"""Which assumptions the night depends on, against the whole forecast made under each of them."""

import tomllib
from dataclasses import replace
from datetime import timedelta
from functools import partial
from importlib.resources import files

import pytest

from forecast.household import NOW
from holdwatch.domain.forecast import Catch, Spawn, believe, forecast
from holdwatch.domain.forecast.assumptions import assumptions_that_matter
from holdwatch.domain.forecast.belief import weighed_anew
from holdwatch.domain.learning import learned, lesson
from holdwatch.domain.looks import Look
from holdwatch.domain.species import BadProfile, parse_profile, with_number


@pytest.fixture
def silver(brood):
    """A hold of two weeks whose spawn nobody saw; the eggs were silver the evening before."""
    looks = tuple(
        Look(f"evening {days}", NOW - timedelta(days=days, hours=2), "daylight", mouth="full",
             eggs="silver" if days == 1 else "orange")
        for days in (14, 10, 6, 3, 1)
    )
    return brood(looks=looks)


def test_weighing_the_same_points_by_the_same_profile_changes_nothing(banggai, silver):
    belief = believe(silver, banggai)
    again = weighed_anew(belief, silver, banggai)
    assert again.weights == pytest.approx(belief.weights, abs=1e-12)


def test_weighing_the_same_points_by_another_profile_is_forecasting_by_it(banggai, silver):
    other = with_number(banggai, "development.silver_share", 0.70)
    anew = weighed_anew(believe(silver, banggai), silver, other)
    direct = believe(silver, other)
    for step in ("hatch", "released"):
        means = [float((belief.weights * getattr(belief.steps, step)).sum()) for belief in (anew, direct)]
        shifts = [mean + (belief.origin - NOW) / timedelta(days=1) for mean, belief in
                  zip(means, (anew, direct), strict=True)]
        assert shifts[0] == pytest.approx(shifts[1], abs=0.1)


def test_what_is_said_to_matter_moves_the_night_of_the_whole_forecast(banggai, silver):
    told = forecast(silver, banggai)
    night = told.catch.night
    found = assumptions_that_matter(silver, banggai, night)
    assert found
    for one in found[:4]:
        for end, expected in zip(one.number.range, (one.night_at_low, one.night_at_high), strict=True):
            whole = forecast(silver, with_number(banggai, one.number.name, end), announced=night)
            saved = {row.night: row.saved for row in whole.nights}
            # Other points may choose another of two nights that are as good as each other.
            assert saved[expected] == pytest.approx(max(saved.values()), abs=0.02), (one.number.name, end)


def test_what_was_learned_is_learned_anew_under_each_assumption(banggai, brood, silver):
    """One brood of another male, caught before release, leaves open which kind of household this is."""
    old = brood(spawn=Spawn(NOW - timedelta(days=18), 60), catch=Catch(NOW, eggs=0, yolk=20, free=0))
    taught = [lesson("old", "another", believe(old, banggai), old, banggai)]
    learn = partial(learned, taught, "he", True, binned_by=banggai)
    night = forecast(silver, banggai, learned=learn(banggai)).catch.night
    found = {one.number.name: one for one in assumptions_that_matter(silver, banggai, night, learn)}
    share = found["mouth.kinds.0.share"]
    fewer_short = with_number(banggai, share.number.name, share.number.range[0])
    whole = forecast(silver, fewer_short, announced=night, learned=learn(fewer_short))
    saved = {row.night: row.saved for row in whole.nights}
    assert share.night_at_low > night
    assert saved[share.night_at_low] == pytest.approx(max(saved.values()), abs=0.02)


def test_only_numbers_with_a_stated_range_are_varied(banggai, silver):
    bare = replace(banggai, numbers=tuple(replace(number, range=None) for number in banggai.numbers))
    assert assumptions_that_matter(silver, bare, forecast(silver, bare).catch.night) == ()


def test_where_nothing_is_left_to_save_nothing_matters(banggai, brood):
    over = brood(spawn=Spawn(NOW - timedelta(days=70), 60))
    assert forecast(over, banggai).catch is None
    assert assumptions_that_matter(over, banggai, None) == ()


def test_a_number_is_put_by_its_dotted_name_also_within_a_list(banggai):
    assert with_number(banggai, "mouth.kinds.1.days", 11.0).mouth.kinds[1].days == 11.0
    assert with_number(banggai, "seen.tails.most", 0.8).seen.tails.most == 0.8
    assert banggai.mouth.kinds[1].days == 9.5


def test_every_assumption_of_one_number_states_its_range(banggai):
    """But for what is fixed by definition, or of no use to vary; what young want afterwards moves no night."""
    forecast_ones = (number for number in banggai.numbers if not number.name.startswith("rearing."))
    without = {number.name for number in forecast_ones
               if number.source.startswith("assumption") and not number.range and not isinstance(number.value, tuple)}
    assert without == {
        "development.reference_c", "development.zero_c", "spawning.longest_unseen_days",
        "seen.catch_fits", "seen.eggs.silver_from", "seen.loose_fry.releasing", "seen.loose_fry.released",
        "seen.loose_fry.otherwise", "held.eyed_with_tumbler", "plans.net_succeeds", "plans.failed_try_loses",
        "plans.male_cost", "plans.move_risk",
    }


def test_a_range_that_does_not_hold_its_value_is_refused():
    table = tomllib.loads((files("holdwatch.profiles") / "pterapogon_kauderni.toml").read_text(encoding="utf-8"))
    table["worth"]["eggs"]["range"] = [0.1, 0.2]
    with pytest.raises(BadProfile, match=r"worth\.eggs: its range"):
        parse_profile(table)
