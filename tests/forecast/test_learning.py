"""What finished broods teach, in cases that can be done by hand, and against sampling the same hierarchy."""

from datetime import timedelta

import numpy as np
import pytest
from scipy.special import ndtr, ndtri

from forecast.household import NOW
from holdwatch.domain.forecast import Catch, Ending, Spawn, believe, forecast
from holdwatch.domain.forecast.prior import mouth_time_table
from holdwatch.domain.learning import BINS, Lesson, hatch_scale, learned, lesson, mouth_scale
from holdwatch.domain.looks import Look
from holdwatch.domain.species import with_number

FLAT = (1.0,) * BINS


def _lesson(brood="one", male="he", hatch=FLAT, mouth=FLAT, early=0.0) -> Lesson:
    return Lesson(brood, male, tuple(hatch), tuple(mouth), early, 19.0, 4.0, lost=False)


def _in_bin(n: int) -> tuple[float, ...]:
    return tuple(float(BINS) if bin == n else 0.0 for bin in range(BINS))


def test_a_brood_that_says_nothing_teaches_nothing(banggai):
    taught = learned([_lesson()], "he", True, banggai)
    books = mouth_time_table(banggai.mouth)
    for score in (-1.645, 0.0, 1.645):
        at = np.array([score])
        spread = np.hypot.reduce([0.06, 0.05, 0.06])
        assert taught.hatch.at(at)[0] == pytest.approx(19.0 * np.exp(spread * score), rel=1e-3)
        assert taught.mouth.at(at)[0] == pytest.approx(books.at(at)[0], rel=0.01)


def test_one_brood_known_exactly_moves_the_same_male_as_normal_theory_says(banggai):
    """Conjugate normal: with z = log H known, E[next] = middle + (books² + male²) / total² (z - middle)."""
    books, male, brood = 0.06, 0.05, 0.06
    total = books**2 + male**2 + brood**2
    scale = hatch_scale(banggai)
    in_bin = 26
    edges = scale.edges[in_bin : in_bin + 2]
    inside = np.log(19.0) + np.sqrt(total) * ndtri((in_bin + np.linspace(0.001, 0.999, 2001)) / BINS)
    known = inside.mean() - np.log(19.0)
    assert edges[0] < inside.min() and inside.max() < edges[1]
    taught = [_lesson(hatch=_in_bin(in_bin))]
    his = np.log(learned(taught, "he", True, banggai).hatch.median() / 19.0)
    another = np.log(learned(taught, "another", True, banggai).hatch.median() / 19.0)
    assert his == pytest.approx((books**2 + male**2) / total * known, abs=5e-4)
    assert another == pytest.approx(books**2 / total * known, abs=5e-4)


def test_a_lesson_keeps_its_bins_under_another_profile(banggai):
    """A brood known exactly, in a household that may differ from the books twice as much; normal theory again."""
    other, male, brood = 0.12, 0.05, 0.06
    wider = with_number(banggai, "development.hatch_spread_books", other)
    in_bin, total = 26, np.hypot.reduce([0.06, 0.05, 0.06])
    known = float(np.mean(total * ndtri((in_bin + np.linspace(0.001, 0.999, 2001)) / BINS)))
    taught = learned([_lesson(hatch=_in_bin(in_bin))], "he", True, wider, binned_by=banggai)
    expected = (other**2 + male**2) / (other**2 + male**2 + brood**2) * known
    assert np.log(taught.hatch.median() / 19.0) == pytest.approx(expected, abs=1e-3)


def test_many_broods_of_one_male_narrow_the_next_to_the_residual(banggai):
    taught = [_lesson(f"{n}", hatch=_in_bin(15 + n % 2)) for n in range(30)]
    low, high = learned(taught, "he", True, banggai).hatch.at(np.array([-1.0, 1.0]))
    assert np.log(high / low) / 2 == pytest.approx(0.06, rel=0.05)


def test_hundreds_of_males_that_disagree_leave_the_middle_between_them(banggai):
    """Half of them at either end of the books: their centre lies at the books' median, and is known closely."""
    ends = (_in_bin(0), _in_bin(BINS - 1))
    taught = [_lesson(f"{n}", f"male {n}", hatch=ends[n % 2], mouth=ends[n % 2]) for n in range(400)]
    found = learned(taught, "he", True, banggai)
    assert found.hatch.median() == pytest.approx(19.0, rel=1e-6)
    low, high = found.hatch.at(np.array([-1.0, 1.0]))
    assert np.log(high / low) / 2 == pytest.approx(np.hypot(0.05, 0.06), rel=0.05)
    assert np.all(np.isfinite(found.mouth.scores)) and np.all(np.diff(found.mouth.scores) > 0)


def test_one_clear_brood_nearly_settles_which_kind_of_household_this_is(banggai):
    """By Bayes' rule over the two kinds, done by hand from the same numbers of the profile."""
    scale, edges = mouth_scale(banggai.mouth), mouth_scale(banggai.mouth).edges
    long_bin = int(np.searchsorted(edges, np.log(10.0)) - 1)
    taught = learned([_lesson(mouth=_in_bin(long_bin))], "another", True, banggai)
    own = np.hypot(0.15, 0.20)
    mass = []
    for kind in banggai.mouth.kinds:
        spread = np.hypot(kind.days_spread, own)
        low, high = ndtr((edges[long_bin : long_bin + 2] - np.log(kind.days)) / spread)
        mass.append(kind.share * (high - low))
    long_share = mass[1] / sum(mass)
    assert long_share > 0.9
    # Between the kinds, at 5.5 d: mostly short below, mostly long above.
    scores = np.interp(np.log(5.5), taught.mouth.logs, taught.mouth.scores)
    assert ndtr(scores) < 0.25
    assert scale.mass.sum() == pytest.approx(1)


def test_the_grids_agree_with_sampling_the_same_hierarchy(banggai):
    """Two males, three broods each: centres and offsets drawn at random and weighed by the same likelihoods."""
    rng = np.random.default_rng(20260320)
    scale = hatch_scale(banggai)
    lessons = [
        _lesson(f"{male}{n}", male, hatch=np.exp(-0.5 * ((np.arange(BINS) - middle) / 4) ** 2))
        for male, middles in (("a", (6, 9, 4)), ("b", (14, 20, 11)))
        for n, middle in enumerate(middles)
    ]
    draws = 400_000
    centre = np.log(19.0) + 0.06 * rng.normal(size=draws)
    offset = {male: 0.05 * rng.normal(size=draws) for male in "ab"}
    weights = np.ones(draws)
    for one in lessons:
        within = np.diff(ndtr((scale.edges[:, None] - centre - offset[one.male]) / 0.06), axis=0)
        weights *= np.array(one.hatch) @ within
    following = centre + offset["a"] + 0.06 * rng.normal(size=draws)
    order = np.argsort(following)
    below = np.cumsum(weights[order]) / weights.sum()
    taught = learned(lessons, "a", True, banggai).hatch
    for level in (0.05, 0.5, 0.95):
        sampled = np.exp(following[order][np.searchsorted(below, level)])
        assert taught.at(np.array([ndtri(level)]))[0] == pytest.approx(sampled, abs=0.05)


def test_the_order_of_broods_changes_nothing(banggai):
    lessons = [_lesson("a", "he", _in_bin(3)), _lesson("b", "she", _in_bin(20)), _lesson("c", "he", _in_bin(9))]
    one, other = (learned(some, "he", True, banggai) for some in (lessons, lessons[::-1]))
    assert np.array_equal(one.hatch.scores, other.hatch.scores) and one.early_chance == other.early_chance


@pytest.mark.parametrize(
    "early, released, chance",
    [((), True, 0.15), ((1.0, 0.0), True, (0.6 + 1) / 6), ((0.0,) * 4, True, 0.6 / 8), ((1.0,), False, 2.6 / 5)],
)
def test_his_chance_of_an_early_loss_is_worth_four_broods_of_the_books(banggai, early, released, chance):
    """Beta(4 p, 4 (1 - p)) updated by his own broods: (4 p + lost early) / (4 + broods)."""
    lessons = [_lesson(f"{n}", early=one) for n, one in enumerate(early)] + [_lesson("other", "another", early=1.0)]
    assert learned(lessons, "he", released, banggai).early_chance == pytest.approx(chance)


def _finished(brood, **known):
    looks = tuple(Look(f"{d}", NOW - timedelta(days=d), "red", mouth="full") for d in range(10, 30, 2))
    return brood(**{"looks": looks, "spawn": Spawn(NOW - timedelta(days=31), 600)} | known)


def test_a_brood_lost_within_a_day_was_lost_early_and_one_that_was_let_go_was_not(banggai, brood):
    lost = brood(
        spawn=Spawn(NOW - timedelta(days=30), 60),
        looks=(Look("gone", NOW - timedelta(days=28.8), "daylight", mouth="normal", eggs="none", food="ate"),),
        ending=Ending(NOW - timedelta(days=28), "lost"),
    )
    let_go = _finished(brood, ending=Ending(NOW - timedelta(days=6), "released"))
    assert lesson("x", "he", believe(lost, banggai), lost, banggai).early > 0.9
    assert lesson("y", "he", believe(let_go, banggai), let_go, banggai).early < 0.01


def test_a_catch_before_release_says_that_the_mouth_time_was_longer_and_no_more(banggai, brood):
    """Censored: short times are ruled out, among long ones nothing is preferred."""
    caught = _finished(brood, catch=Catch(NOW - timedelta(days=8), 0, 60, 0))
    mouth = np.array(lesson("x", "he", believe(caught, banggai), caught, banggai).mouth)
    assert mouth[:4].max() < 0.4
    assert mouth[-8:].min() > 1.2 and mouth[-8:].max() / mouth[-8:].min() < 1.5


def test_a_finished_brood_is_followed_to_its_end_and_no_night_is_ahead(banggai, brood):
    told = forecast(_finished(brood, ending=Ending(NOW - timedelta(days=2), "released")), banggai)
    assert told.nights == () and told.catch is None and told.if_seen == () and told.grid == ()
    assert told.now.released + told.now.releasing > 0.99
    assert told.released.q50 < NOW - timedelta(days=2)


def test_a_lesson_tells_when_its_own_brood_hatched(banggai, brood):
    seen = _finished(brood, catch=Catch(NOW - timedelta(days=8), 0, 60, 0))
    belief = believe(seen, banggai)
    one = lesson("x", "he", belief, seen, banggai)
    told = forecast(seen, banggai)
    # At the set point reference days are days, but for what the thermometer may be wrong by.
    assert one.hatch_days == pytest.approx((told.hatched.q50 - told.spawned.q50) / timedelta(days=1), abs=0.5)
    assert one.mouth_days == pytest.approx((told.released.q50 - told.hatched.q50) / timedelta(days=1), abs=0.6)


def test_the_next_brood_starts_from_what_was_learned(banggai, brood):
    """A household whose broods hatch early forecasts the next one earlier, by what normal theory leaves of it."""
    lessons = [_lesson(f"{n}", hatch=_in_bin(4)) for n in range(4)]
    taught = learned(lessons, "he", True, banggai)
    next_one = brood(spawn=Spawn(NOW - timedelta(days=3), 60))
    books, wiser = forecast(next_one, banggai), forecast(next_one, banggai, learned=taught)
    earlier = (books.hatched.q50 - wiser.hatched.q50) / timedelta(days=1)
    assert earlier == pytest.approx(19.0 - taught.hatch.median(), abs=0.05)
    assert wiser.learned is taught and books.learned is None
    assert wiser.now.lost < books.now.lost


def test_nothing_is_learned_from_nothing(banggai):
    assert learned([], "he", True, banggai) is None
