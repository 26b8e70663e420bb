"""Loss summed exactly equals loss tried out instant by instant."""

from datetime import timedelta

import numpy as np
import pytest

from forecast.household import NOW
from holdwatch.domain.forecast import Catch
from holdwatch.domain.forecast.loss import fate, risk, survival
from holdwatch.domain.forecast.points import prior_scores
from holdwatch.domain.forecast.sight import chances, glimpses, sights
from holdwatch.domain.forecast.steps import course, steps
from holdwatch.domain.looks import Look

POINTS = 64
TRIED = 40_000


def looks_at_a_doubtful_brood() -> tuple[Look, ...]:
    mouths = ["full", "full", "smaller", "full", "normal", "full", "normal", "normal"]
    tails = ["none", None, "none", "perhaps", "none", "seen", "none", None]
    food = [None, "ignored", None, "spat", None, None, "ate", None]
    return tuple(
        Look(f"{n}", NOW - timedelta(days=23 - 3 * n), "dim_white", m, "silver" if n == 5 else None, t, f)
        for n, (m, t, f) in enumerate(zip(mouths, tails, food, strict=True))
    )


def by_trying(seen, stepped, profile, chance, days) -> tuple[np.ndarray, np.ndarray]:
    """Return the likelihood of each point, and its part lost by `days`, over 40,000 equal slices of the loss."""
    likelihood, lost = np.zeros(POINTS), np.zeros(POINTS)
    shown = glimpses(seen, stepped, profile.seen, middle=20.0)
    findings = [np.broadcast_to(chances(*pair, profile.seen), (2, POINTS)) for pair in zip(seen, shown, strict=True)]
    for point in range(POINTS):
        edges = np.linspace(stepped.spawn[point], stepped.released[point], TRIED + 1)
        early = chance.early_chance * np.exp(-(edges - edges[0]) / chance.early_mean_days)
        kept = early + (1 - chance.early_chance) * np.exp(-chance.hazard_per_day * (edges - edges[0]))
        instants = np.append((edges[1:] + edges[:-1]) / 2, np.inf)
        mass = np.append(kept[:-1] - kept[1:], kept[-1])
        for shows, share in enumerate((1 - profile.seen.tails.shown_by, profile.seen.tails.shown_by)):
            product = np.full(instants.size, share)
            for sight, finding in zip(seen, findings, strict=True):
                product *= np.where(instants <= sight.at, sight.empty, finding[shows, point])
            likelihood[point] += product @ mass
            lost[point] += product[instants <= days] @ mass[instants <= days]
    return likelihood, lost


@pytest.mark.parametrize("experienced", [True, False])
def test_the_exact_sum_over_loss_equals_brute_force(banggai, brood, experienced):
    evidence = brood(looks=looks_at_a_doubtful_brood(), not_before=NOW - timedelta(days=32))
    ahead = course(evidence, banggai)
    stepped = steps(prior_scores(8192, 7, 1)[:POINTS], evidence, banggai, ahead)
    seen, chance = sights(evidence, banggai, ahead), risk(banggai.loss, experienced)
    days = 33.5
    likelihood, lost = by_trying(seen, stepped, banggai, chance, days)
    surviving = survival(chance, stepped, middle=20.0)
    ours = fate(seen, stepped, banggai, surviving)
    # A slice that a look cuts in two is tried at its middle only: 1/40,000 of the hold, a look.
    assert np.exp(ours.log_likelihood()) == pytest.approx(likelihood, rel=2e-3)
    left = np.exp(ours.scale) * ours.kept * surviving.at(days)
    assert 1 - left / np.exp(ours.log_likelihood()) == pytest.approx(lost / likelihood, abs=2e-3)


def test_a_catch_that_fits_tells_of_eggs_young_or_release(banggai, brood):
    for counts, held in (((30, 0, 0), (1, 2)), ((0, 20, 0), (3,)), ((0, 2, 15), (4, 5)), ((0, 0, 0), (0, 5))):
        evidence = brood(catch=Catch(NOW, *counts), not_before=NOW - timedelta(days=20))
        (caught,) = sights(evidence, banggai, course(evidence, banggai))
        assert np.flatnonzero(caught.by_state > 0.5).tolist() == list(held)
