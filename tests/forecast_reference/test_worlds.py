"""The simulated households and the worlds in which the model is wrong: that they are what they say they are."""

import numpy as np
import pytest

from forecast_reference.evidence import days, iso
from forecast_reference.keeper import CATCH
from forecast_reference.simulate_households import draw_males, simulate_household
from forecast_reference.species import BANGGAI
from forecast_reference.worlds import MODEL, WORLDS, WorldBrood, best_fixed_night, follow, simulate_brood

BY_NAME = {world.name: world for world in WORLDS}
FIRST_SEED, COUNT = 7_000, 24


def _broods(name: str) -> list[WorldBrood]:
    world = BY_NAME.get(name, MODEL)
    return [simulate_brood(world, seed) for seed in range(FIRST_SEED, FIRST_SEED + COUNT)]


@pytest.fixture(scope="module")
def modelled() -> list[WorldBrood]:
    """Broods of the model's own world."""
    return _broods("as modelled")


def _mouths_while_held(broods: list[WorldBrood]) -> list[str]:
    """What was seen of mouths between spawn and first release or loss."""
    held = []
    for brood in broods:
        steps, lost = brood.truth.steps(), brood.truth.lost() or np.inf
        ends = min(steps["released"], lost)
        held += [seen["mouth"] for seen in brood.document["looks"] if steps["spawned"] < days(seen["at"]) < ends]
    return held


def test_the_same_seed_gives_the_same_household():
    assert simulate_household(3) == simulate_household(3)
    assert simulate_household(3) != simulate_household(4)


def test_households_differ_in_what_they_have_behind_them():
    households = [simulate_household(seed) for seed in range(30)]
    broods = [len(each.document["household"]) for each in households]
    ends = ["catch" in each["brood"] for household in households for each in household.document["household"]]
    assert min(broods) == 0 and max(broods) == 5
    assert any(ends) and not all(ends)
    assert any(each.lost is not None for each in households)


def test_finished_broods_lie_before_the_one_to_come_and_do_not_overlap():
    for seed in range(20):
        document = simulate_household(seed).document
        in_sequence = [each["brood"] for each in document["household"]] + [document["next"]["brood"]]
        for before, after in zip(in_sequence, in_sequence[1:], strict=False):
            first = after.get("not_before") or after["spawn"]["at"]
            assert days(before["now"]) < days(first)
        for brood in in_sequence:
            assert all(days(seen["at"]) <= days(brood["now"]) for seen in brood["looks"])


def test_males_of_a_household_share_its_centre_and_differ_by_their_offsets():
    books, male, _ = BANGGAI.hatch_log_spreads
    rng = np.random.default_rng(5)
    pairs = np.array(
        [[each.own for each in males[:2]] for males in (draw_males(rng) for _ in range(6_000)) if len(males) > 1]
    )
    hatch = pairs[:, :, 0] - np.log(BANGGAI.hatch_median_days)
    assert hatch.std() == pytest.approx(np.hypot(books, male), rel=0.04)
    assert np.corrcoef(hatch.T)[0, 1] == pytest.approx(books**2 / (books**2 + male**2), abs=0.04)
    long = pairs[:, :, 1] > np.log(6.2)
    assert long.mean() == pytest.approx(0.29, abs=0.03)
    assert (long[:, 0] == long[:, 1]).mean() > 0.9


def test_a_male_s_chance_of_an_early_loss_is_on_average_the_profiles():
    rng = np.random.default_rng(6)
    males = [male for _ in range(3_000) for male in draw_males(rng)]
    for experienced, profile in BANGGAI.early_loss_chance.items():
        chances = [male.early_loss_chance for male in males if male.experienced == experienced]
        assert np.mean(chances) == pytest.approx(profile, abs=0.02)
        assert np.std(chances) == pytest.approx(np.sqrt(profile * (1 - profile) / 5), abs=0.02)


def test_in_a_world_without_tails_hardly_any_are_seen(modelled):
    def seen(broods):
        return sum(look.get("tails") == "seen" for brood in broods for look in brood.document["looks"])

    assert seen(_broods("no tails")) < 0.3 * seen(modelled)


def test_three_people_look_within_forty_minutes_and_mostly_say_the_same():
    looks = [brood.document["looks"] for brood in _broods("three an evening")]
    sittings = [three[i : i + 3] for three in looks for i in range(0, len(three), 3)]
    assert all(days(each[2]["at"]) - days(each[0]["at"]) < 40 / 1440 for each in sittings)
    unlike = np.mean([each[0]["mouth"] != each[1]["mouth"] for each in sittings])
    assert 0 < unlike < 0.08


def test_a_holding_mouth_looks_normal_as_often_as_its_world_says(modelled):
    assert np.mean([mouth == "normal" for mouth in _mouths_while_held(modelled)]) < 0.08
    false = np.mean([mouth == "normal" for mouth in _mouths_while_held(_broods("false normal"))])
    assert false == pytest.approx(BY_NAME["false normal"].normal_while_holding, abs=0.04)


def test_the_other_worlds_change_the_truth_as_they_say():
    for brood in _broods("three nights"):
        released = brood.truth.course.released[0]
        assert brood.truth.course.released_last[0] - released == pytest.approx(2)
        if brood.truth.lost() is None:
            held = min(1.0, (released + 0.5 - brood.truth.course.hatched[0]) / 3)
            assert brood.saved(released + 0.5) == pytest.approx((0.85 + 0.10 * held) * 2 / 3 + 0.10 / 3)
    paces = [brood.truth.course.points.factor[0] for brood in _broods("warm thermometer")]
    assert np.allclose(sorted({round(abs(np.log(pace)), 1) for pace in paces}), [0.1])


def test_what_a_catch_saves_follows_from_the_true_state(modelled):
    kept = [brood for brood in modelled if brood.truth.lost() is None]
    for brood in kept:
        steps, course = brood.truth.steps(), brood.truth.course
        assert brood.saved(steps["silver"] - 0.01) == 0.05
        assert brood.saved(steps["hatched"] - 0.01) == 0.10
        assert brood.saved(course.released_last[0] + 0.01) == pytest.approx(0.10)
        assert brood.saved(None) == 0.10
    lost = [brood for brood in modelled if brood.truth.lost() is not None]
    assert all(brood.saved(brood.truth.lost() + 0.01) == brood.saved(None) == 0 for brood in lost)


def test_the_brood_as_of_an_instant_knows_nothing_later(modelled):
    brood = modelled[0]
    now = days(brood.document["now"]) - 30
    known = brood.as_of(now)
    assert all(days(each["at"]) <= now for each in [*known["looks"], *known["readings"]])
    assert days(known["now"]) == pytest.approx(now, abs=1e-7)


@pytest.mark.parametrize("since", ["spawn", "first full"])
def test_the_best_fixed_night_saves_more_than_any_other(modelled, since):
    nights, worth = best_fixed_night(modelled, since)
    begun = [brood.truth.course.spawned[0] if since == "spawn" else brood.first_full() for brood in modelled]
    for other in (nights - 3, nights, nights + 3):
        caught = [at and np.floor(at) + other + CATCH for at in begun]
        mean = np.mean([brood.saved(at) for brood, at in zip(modelled, caught, strict=True)])
        assert mean == pytest.approx(worth) if other == nights else mean <= worth


def test_a_keeper_who_is_told_the_night_catches_on_it_and_one_who_is_told_none_never(modelled):
    brood = next(brood for brood in modelled if brood.first_full())
    night = float(np.ceil(brood.first_full()) + 21 + CATCH)
    asked = []

    def told(document: dict) -> dict:
        asked.append(days(document["now"]))
        return {"at": iso(night)}

    assert follow(brood, told) == pytest.approx(night, abs=1e-7)
    assert len(asked) < 13 and max(asked) == pytest.approx(night - CATCH + 0.5, abs=1e-7)
    assert follow(brood, lambda document: None) is None
