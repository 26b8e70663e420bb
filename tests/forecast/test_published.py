"""Published times that set no profile lie inside what the forecast holds possible."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from forecast.household import NOW, tank
from holdwatch.config import load_profiles
from holdwatch.domain.forecast import Spawn, believe


@pytest.mark.parametrize(
    "days, source",
    [
        (21, "Sugama 2008; Vishwas Rao & Ajith Kumar 2014, J. Aquac. Res. Dev. 5:277: 21 to 23 d"),
        (23, "the same"),
        (29, "Vagelli 1999, Environ. Biol. Fishes 56:79-92: about 19 + 10 d"),
    ],
)
def test_published_releases_lie_inside_the_95_per_cent_interval(banggai, brood, days, source):
    belief = believe(brood(spawn=Spawn(NOW, 60)), banggai)
    low, high = np.quantile(belief.released - belief.spawn, [0.025, 0.975])
    assert low < days < high, source


@pytest.mark.parametrize("days", [7, 8])
def test_published_hatchings_of_clownfish_lie_inside_the_95_per_cent_interval(brood, days):
    """Raheem et al. (Indian J. Fish.): 7 to 8 d, without a temperature; no number of the profile comes from it."""
    clownfish = load_profiles()["amphiprion_ocellaris"]
    water = tank(set_point_c=clownfish.development.reference_c)
    belief = believe(brood(spawn=Spawn(NOW - timedelta(hours=8), 60), tank=water), clownfish)
    low, high = np.quantile(belief.hatch - belief.spawn, [0.025, 0.975])
    assert low < days < high


def test_hatching_after_18_to_20_days_is_well_inside(banggai, brood):
    """Sugama 2008: 18 to 19 d; Vagelli 1999: about 19 d; EOL summary: about 20 d."""
    belief = believe(brood(spawn=Spawn(NOW, 60)), banggai)
    low, high = np.quantile(belief.hatch - belief.spawn, [0.05, 0.95])
    assert low < 18 and high > 20


def test_the_chance_of_early_loss_of_an_experienced_male_fits_the_published_share(banggai):
    """Okuda & Yanagisawa 1996: 47 of 361 broods eaten within a day, 17 to 18 % in all; of another cardinalfish."""
    loss = banggai.loss
    within_a_day = loss.early_chance_experienced * (1 - np.exp(-1 / loss.early_mean_days))
    assert within_a_day < 47 / 361 < loss.early_chance_experienced
    in_all = 1 - (1 - loss.early_chance_experienced) * np.exp(-loss.hazard_per_day * 22)
    assert 0.15 < in_all < 0.25


def test_a_warmer_tank_hatches_sooner_by_the_borrowed_q10(banggai, brood):
    """Centropyge aurantonotus: half the time over 8 °C (Mendonca et al. 2019); 2.2 to 2.8 is supportable."""
    sure = replace(banggai, development=replace(banggai.development, thermometer_spread_unread_c=1e-9, q10_spread=1e-9))
    evidence = brood(spawn=Spawn(NOW, 60))
    warm = replace(evidence, tank=replace(evidence.tank, set_point_c=28.5))
    ratio = np.median(believe(warm, sure).hatch - 0.125) / np.median(believe(evidence, sure).hatch - 0.125)
    assert 2.8**-0.2 < ratio < 2.2**-0.2
