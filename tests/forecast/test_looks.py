"""Looks: merging those of one evening, and the chances of what can be seen."""

from datetime import timedelta

import numpy as np
import pytest
from scipy.stats import norm

from forecast.household import NOW
from holdwatch.domain.looks import (
    CLASS_OF_LIGHT,
    EMPTY,
    EYED,
    HATCHED,
    ORANGE,
    RELEASED,
    VALUES,
    Look,
    colour_steps,
    form,
    merged,
    tails_hidden,
    tails_shown,
)
from holdwatch.domain.species import Seen


def colour_chances(share: np.ndarray, light_class: int, seen: Seen) -> np.ndarray:
    eggs = form("eggs", light_class, False, seen)
    return eggs.constant[:, [ORANGE]] + eggs.steps @ colour_steps(share, light_class, seen)


def tail_chances(days: np.ndarray, light_class: int, seen: Seen) -> np.ndarray:
    tails = form("tails", light_class, True, seen)
    return tails.constant[:, [HATCHED]] + tails.steps @ tails_shown(tails_hidden(days, seen), light_class, seen)[None]


def at(hours: float, name: str = "", **seen) -> Look:
    return Look(name or f"at {hours}", NOW + timedelta(hours=hours), **seen)


def test_looks_up_to_three_hours_after_the_first_are_one_look():
    evenings = merged([at(3, mouth="full"), at(0, mouth="full"), at(3.1, mouth="full")])
    assert [evening.ids for evening in evenings] == [("at 0", "at 3"), ("at 3.1",)]
    assert evenings[0].at == NOW


def test_of_each_part_the_readings_under_the_best_light_count_and_disagreement_is_kept():
    looks = [
        at(0, light="red", mouth="full", tails="none"),
        at(1, light="dim_white", mouth="normal"),
        at(2, light="blue", tails="seen"),
    ]
    (evening,) = merged(looks)
    mouth, tails = evening.findings
    assert (mouth.values, mouth.disagrees()) == (("normal",), True)
    assert (tails.values, tails.disagrees()) == (("none", "seen"), True)


def test_equal_looks_count_once_and_a_look_that_says_nothing_not_at_all():
    looks = [at(0, "a", mouth="full"), at(0, "b", mouth="full"), at(9, light="red")]
    (evening,) = merged(looks)
    assert evening.findings[0].values == ("full",)


def test_a_recalled_look_tells_of_the_mouth_alone_and_counts_once_a_gap():
    looks = [at(0, mouth="full")]
    looks += [at(day * 24, mouth="full", tails="seen", recalled=True) for day in (1, 2, 3)]
    looks += [at(96, mouth="full"), at(120, mouth="full", recalled=True)]
    assert [evening.id for evening in merged(looks)] == ["at 0", "at 72", "at 96", "at 120"]
    assert [finding.part for evening in merged(looks) for finding in evening.findings] == ["mouth"] * 4


def test_a_recalled_look_gives_way_to_a_direct_one_of_the_same_evening():
    (evening,) = merged([at(0, mouth="normal", recalled=True), at(1, light="red", mouth="full")])
    assert evening.findings[0].values == ("full",)


@pytest.mark.parametrize(
    "part, light_classes", [("mouth", 4), ("eggs", 3), ("tails", 3), ("food", 3), ("loose_fry", 3)]
)
def test_the_chances_of_every_part_sum_to_one_in_every_state_whatever_shows(banggai, part, light_classes):
    for light_class in range(light_classes):
        for shows in (False, True):
            chances = form(part, light_class, shows, banggai.seen)
            assert chances.constant.shape == (len(VALUES[part]), 6)
            assert chances.constant.sum(axis=0) == pytest.approx(1)
            assert chances.steps.sum(axis=0) == pytest.approx(0)


@pytest.mark.parametrize("light_class", [0, 1, 2])
def test_the_chances_of_colours_and_of_tails_sum_to_one(banggai, light_class):
    assert colour_chances(np.linspace(0, 3, 50), light_class, banggai.seen).sum(axis=0) == pytest.approx(1)
    assert tail_chances(np.linspace(0, 30, 50), light_class, banggai.seen).sum(axis=0) == pytest.approx(1)


def test_half_of_careful_keepers_in_daylight_say_silver_at_silver(banggai):
    orange, turning, silver, none = colour_chances(np.array([1.0]), 0, banggai.seen)[:, 0]
    assert silver == pytest.approx(0.97 * (0.97 * 0.5 + 0.01))
    assert none == pytest.approx(0.03)


def test_red_light_hardly_tells_orange_from_silver_but_shows_tails(banggai):
    early, late = (colour_chances(np.array([x]), CLASS_OF_LIGHT["red"], banggai.seen)[2, 0] for x in (0.5, 1.3))
    assert late / early < 7
    tails = tail_chances(np.array([3.0]), CLASS_OF_LIGHT["red"], banggai.seen)[0, 0]
    assert tails / form("tails", 2, True, banggai.seen).constant[0, EMPTY] > 45


def test_tails_show_more_the_longer_the_young_are_hatched(banggai):
    """q = 0.9 f (1 - exp(-0.9 (days + 0.25))): the formula of the model, by hand at 2 d in dim white light."""
    q = 0.9 * 0.9 * (1 - np.exp(-0.9 * 2.25))
    assert tail_chances(np.array([2.0]), 1, banggai.seen)[:, 0] == pytest.approx(
        [0.85 * q, 0.15 * q + 0.05 * (1 - q), 0.95 * (1 - q)]
    )
    never = form("tails", 1, False, banggai.seen).constant
    assert never[:, HATCHED] == pytest.approx([0.03, 0.06, 0.91])
    assert never[:, EYED] == pytest.approx([0.03, 0.06, 0.91])
    assert never[:, RELEASED] == pytest.approx([0.01, 0.02, 0.97])


def test_the_steps_of_the_colour_are_those_of_the_normal_distribution_to_a_ten_millionth(banggai):
    share = np.random.default_rng(3).uniform(0, 4, 5000)
    exact = norm.cdf((np.array([[0.80], [1.00]]) - share) / 0.12)
    assert colour_steps(share, 0, banggai.seen) == pytest.approx(exact, abs=1e-7)
