"""What each observation says: the chance of every outcome of every part of a look, given the truth."""

import numpy as np
from scipy.special import ndtr

from . import numbers
from .evidence import Reading
from .species import Species
from .truth import Moment

# Spread and lapse of the colour, and the share of tails that can be made out, by light; assumptions.
WHITE = ("daylight", "dim_white", "torch")
COLOUR_SPREAD = {"daylight": 0.12, "torch": 0.12, "dim_white": 0.18, "blue": 0.40, "red": 0.40, "none": 0.40}
COLOUR_LAPSE = {"daylight": 0.03, "torch": 0.03, "dim_white": 0.05, "blue": 0.15, "red": 0.15, "none": 0.15}
TAILS_LIGHT = {"daylight": 1.0, "torch": 1.0, "dim_white": 0.9, "blue": 0.7, "red": 0.7, "none": 0.7}


def outcome_chances(reading: Reading, moment: Moment) -> tuple[np.ndarray, ...]:
    """Chances (n,) of each outcome of one part, in the order of numbers.OUTCOMES, given the truth at its instant."""
    if reading.recalled and reading.part == "clutch":
        return _by_hold(moment, (0.85, 0.15), (0.15, 0.85))
    if reading.recalled:
        return _by_hold(moment, (0.85, 0.10, 0.05), (0.05, 0.10, 0.85))
    return PARTS[reading.part](reading.light, moment)


def chance(reading: Reading, moment: Moment) -> np.ndarray:
    """Chance (n,) of what was seen."""
    return outcome_chances(reading, moment)[numbers.OUTCOMES[reading.part].index(reading.value)]


def _by_hold(moment: Moment, holding: tuple, not_holding: tuple) -> tuple[np.ndarray, ...]:
    return tuple(np.where(moment.holds, yes, no) for yes, no in zip(holding, not_holding, strict=True))


def _mouth(light: str, moment: Moment) -> tuple[np.ndarray, ...]:
    if light in WHITE:
        chances = _by_hold(moment, (0.90, 0.07, 0.03), (0.02, 0.05, 0.93))
    else:
        chances = _by_hold(moment, (0.80, 0.10, 0.10), (0.08, 0.10, 0.82))
    return tuple(np.where(moment.releasing, r, c) for r, c in zip((0.6, 0.3, 0.1), chances, strict=True))


def _clutch(_light: str, moment: Moment) -> tuple[np.ndarray, ...]:
    return _by_hold(moment, (0.97, 0.03), (0.03, 0.97))


def _eggs(light: str, moment: Moment) -> tuple[np.ndarray, ...]:
    spread, lapse = COLOUR_SPREAD[light], COLOUR_LAPSE[light]
    under_turning = ndtr((0.80 - moment.silver_ratio) / spread)
    under_silver = ndtr((1.00 - moment.silver_ratio) / spread)
    colours = (under_turning, under_silver - under_turning, 1 - under_silver)
    holding = (*(0.97 * ((1 - lapse) * colour + lapse / 3) for colour in colours), 0.03)
    return _by_hold(moment, holding, (0.01, 0.01, 0.01, 0.97))


def _tails(light: str, moment: Moment) -> tuple[np.ndarray, ...]:
    visible = moment.holds & moment.hatched & moment.shows
    silver_there = moment.holds & moment.eyed
    age = np.maximum(0.0, moment.days_since_hatch)
    q = 0.9 * TAILS_LIGHT[light] * -np.expm1(-0.9 * (age + 0.25))
    seen = np.where(visible, 0.85 * q, np.where(silver_there, 0.03, 0.01))
    perhaps = np.where(visible, 0.15 * q + 0.05 * (1 - q), np.where(silver_there, 0.06, 0.02))
    return seen, perhaps, 1 - seen - perhaps


def _food(_light: str, moment: Moment) -> tuple[np.ndarray, ...]:
    return _by_hold(moment, (0.04, 0.10, 0.86), (0.70, 0.05, 0.25))


def _loose_fry(_light: str, moment: Moment) -> tuple[np.ndarray, ...]:
    seen = np.select([moment.releasing, moment.released], [0.5, 0.6], 0.005)
    return seen, 1 - seen


PARTS = {
    "mouth": _mouth,
    "clutch": _clutch,
    "eggs": _eggs,
    "tails": _tails,
    "food": _food,
    "loose_fry": _loose_fry,
}


def catch_chance(found: frozenset[str], moment: Moment, species: Species) -> np.ndarray:
    """Chance (n,) of what a catch found: 0.999 where any kind of young that was counted fits the truth, else 0.001.

    Of a species that hatches after dark young of either kind are larvae, and mean that the hatch was.
    """
    in_the_mouth = moment.holds & moment.hatched & ~moment.releasing
    fits = {
        "eggs": moment.holds & ~moment.hatched,
        "yolk": moment.released if species.hatches_after_dark() else in_the_mouth,
        "free": moment.releasing | moment.released,
    }
    any_fits = np.any([fits[kind] for kind in sorted(found)], axis=0) if found else ~moment.holds
    return np.where(any_fits, numbers.CATCH_FITS, numbers.CATCH_MISFITS)
