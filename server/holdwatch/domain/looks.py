"""What people saw at the glass: looks, merging those of one evening, and the chances of each finding by state.

A male is in one of six states for whoever looks at him: he holds nothing (before the spawn, after a loss), orange
eggs, eyed eggs, hatched young, he is letting them go, or he has let them go. A part of a look is an outcome with a
chance in each state; eggs and tails depend on more than the state, and their curves are here as well.

Readings the page leaves open, decided here: a torch counts as daylight and no light as red or blue; looks are
grouped from the first of a group, up to and with 3 h after it, and stand at that first instant; equal looks count
once; of several recalled looks in one gap between direct ones the last counts; a look without its light is taken as
made in no light; a male who is letting young go holds, for eggs and food.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from itertools import groupby
from typing import TypeVar

import numpy as np
from scipy.special import ndtr

from holdwatch.domain.species import Seen

VALUES = {
    "mouth": ("full", "smaller", "normal"),
    "eggs": ("orange", "turning", "silver", "none"),
    "tails": ("seen", "perhaps", "none"),
    "food": ("ate", "spat", "ignored"),
    "loose_fry": ("seen", "none"),
    "clutch": ("there", "gone"),
}
LIGHTS = ("daylight", "dim_white", "blue", "red", "none", "torch")

# Classes of light from the best to the worst; recalled looks rank below every direct one.
DAYLIGHT, DIM_WHITE, NIGHT, RECALLED = range(4)
CLASS_OF_LIGHT = {
    "daylight": DAYLIGHT,
    "torch": DAYLIGHT,
    "dim_white": DIM_WHITE,
    "red": NIGHT,
    "blue": NIGHT,
    "none": NIGHT,
}
EMPTY, ORANGE, EYED, HATCHED, RELEASING, RELEASED = range(6)
ONE_LOOK = timedelta(hours=3)
Section = TypeVar("Section")


@dataclass(frozen=True)
class Look:
    """One look at one male; a part that is None was not seen."""

    id: str
    at: datetime
    light: str = "none"
    mouth: str | None = None
    eggs: str | None = None
    tails: str | None = None
    food: str | None = None
    loose_fry: str | None = None
    clutch: str | None = None
    recalled: bool = False

    def findings(self) -> dict[str, str]:
        """Return what was seen, by part; of a recalled look the mouth alone."""
        asked = ("mouth",) if self.recalled else ("mouth", "clutch", "eggs", "tails", "food", "loose_fry")
        return {part: getattr(self, part) for part in asked if getattr(self, part) is not None}

    def light_class(self) -> int:
        """Return how good the light was, 0 the best."""
        return RECALLED if self.recalled else CLASS_OF_LIGHT[self.light]


@dataclass(frozen=True)
class Finding:
    """One part of one evening's look: the readings under the best light, and all that were made.

    `looks` are the ids of the looks that made the readings in `values`, one each; none for a look still to come.
    """

    part: str
    light_class: int
    values: tuple[str, ...]
    every_value: tuple[str, ...]
    looks: tuple[str, ...] = ()

    def told(self) -> tuple[str, ...]:
        """Return the readings under the best light, one where all agree."""
        return self.values if len(set(self.values)) > 1 else self.values[:1]

    def disagrees(self) -> bool:
        """Return whether people saw different things that evening."""
        return len(set(self.every_value)) > 1


@dataclass(frozen=True)
class Evening:
    """Looks at one male within 3 h, taken as one."""

    id: str
    at: datetime
    ids: tuple[str, ...]
    findings: tuple[Finding, ...]


def merged(looks: Iterable[Look]) -> tuple[Evening, ...]:
    """Return the looks as evenings in order of time: equal ones once, one recalled a gap, those within 3 h as one."""
    ordered = sorted(looks, key=lambda look: (look.at.astimezone(UTC), look.id))
    evenings = [_evening(group) for group in _groups(_one_recalled_a_gap(_distinct(ordered)))]
    return tuple(evening for evening in evenings if evening.findings)


def _distinct(looks: Sequence[Look]) -> list[Look]:
    kept = {(look.at.astimezone(UTC), look.light, look.clutch, look.recalled, *look.findings().items()): look
            for look in reversed(looks)}
    return list(reversed(kept.values()))


def _one_recalled_a_gap(looks: Sequence[Look]) -> Iterator[Look]:
    for recalled, run in groupby(looks, key=lambda look: look.recalled):
        gap = list(run)
        yield from gap[-1:] if recalled else gap


def _groups(looks: Iterable[Look]) -> Iterator[list[Look]]:
    group: list[Look] = []
    for look in looks:
        if group and look.at.astimezone(UTC) - group[0].at.astimezone(UTC) > ONE_LOOK:
            yield group
            group = []
        group.append(look)
    if group:
        yield group


def _evening(group: Sequence[Look]) -> Evening:
    findings = tuple(finding for part in VALUES if (finding := _finding(part, group)))
    return Evening(group[0].id, group[0].at, tuple(look.id for look in group), findings)


def _finding(part: str, group: Sequence[Look]) -> Finding | None:
    asked = [look for look in group if part in look.findings()]
    if not asked:
        return None
    best = min(look.light_class() for look in asked)
    under_best = [look for look in asked if look.light_class() == best]
    counted, every = (tuple(look.findings()[part] for look in looks) for looks in (under_best, asked))
    return Finding(part, best, counted, every, tuple(look.id for look in under_best))


@dataclass(frozen=True)
class Form:
    """The chances of each value of a part: `constant` (values, 6) by state, plus `steps` (values, k) times what shows.

    What shows are k numbers a brood, 0 where there is nothing to show: `colour_steps` of eggs, `tails_shown`.
    """

    constant: np.ndarray
    steps: np.ndarray


@lru_cache(maxsize=256)
def form(part: str, light_class: int, shows: bool, seen: Seen) -> Form:
    """Return the chances of the values of `part` in a class of light, of a male who `shows` tails or never does."""
    if part == "eggs":
        return _eggs(light_class, seen)
    if part == "tails":
        return _tails(shows, seen)
    constant = {"mouth": _mouth, "clutch": _clutch, "food": _food, "loose_fry": _loose_fry}[part](light_class, seen)
    return Form(constant.T, np.empty((constant.shape[1], 0)))


def _mouth(light_class: int, seen: Seen) -> np.ndarray:
    mouth = asked(seen.mouth)
    if light_class == RECALLED:
        empty, holding, releasing = mouth.empty_recalled, mouth.holding_recalled, mouth.holding_recalled
    elif light_class == NIGHT:
        empty, holding, releasing = mouth.empty_night, mouth.holding_night, mouth.releasing
    else:
        empty, holding, releasing = mouth.empty_white, mouth.holding_white, mouth.releasing
    return np.array([empty, holding, holding, holding, releasing, empty])


def _food(light_class: int, seen: Seen) -> np.ndarray:
    food = asked(seen.food)
    return np.array([food.empty, food.holding, food.holding, food.holding, food.holding, food.empty])


def _clutch(light_class: int, seen: Seen) -> np.ndarray:
    clutch = asked(seen.clutch)
    return np.array([clutch.empty, clutch.holding, clutch.holding, clutch.holding, clutch.holding, clutch.empty])


def _loose_fry(light_class: int, seen: Seen) -> np.ndarray:
    fry = seen.loose_fry
    chance = np.array([fry.otherwise] * 4 + [fry.releasing, fry.released])
    return np.column_stack([chance, 1 - chance])


def _eggs(light_class: int, seen: Seen) -> Form:
    """An ordered probit with a lapse: (1 - missed) ((1 - lapse) P(colour) + lapse / 3), and none with `missed`."""
    missed, lapse, imagined = seen.eggs.missed, seen.eggs.lapse[light_class], seen.eggs.imagined
    silver = (1 - missed) * (1 - lapse)
    by_chance = (1 - missed) * lapse / 3
    holding = np.array([by_chance, by_chance, by_chance + silver, missed])
    empty = np.array([imagined, imagined, imagined, 1 - 3 * imagined])
    return Form(
        constant=np.array([empty, holding, holding, holding, holding, empty]).T,
        steps=silver * np.array([[1, 0], [-1, 1], [0, -1], [0, 0]]),
    )


def _tails(shows: bool, seen: Seen) -> Form:
    """Seen with `sure_share` q, perhaps with the rest of q and now and then without; mistaken at fixed chances."""
    tails = asked(seen.tails)
    orange, eyed = ((sure, perhaps, 1 - sure - perhaps) for sure, perhaps in (tails.false_orange, tails.false_eyed))
    if not shows:
        return Form(np.array([orange, orange, eyed, eyed, eyed, orange]).T, np.empty((3, 0)))
    sure, perhaps = tails.sure_share, tails.perhaps_unshown
    hidden = (0, perhaps, 1 - perhaps)
    return Form(
        constant=np.array([orange, orange, eyed, hidden, hidden, orange]).T,
        steps=np.array([[sure], [1 - sure - perhaps], [perhaps - 1]]),
    )


def colour_steps(share: np.ndarray, light_class: int, seen: Seen) -> np.ndarray:
    """Return the chances that the colour named is at most orange, and at most turning, without lapse: (2, n).

    `share` (n) is the age of a brood over its age at silver, x/E: Phi((cut - x/E) / spread).
    """
    cuts = np.array([seen.eggs.turning_from, seen.eggs.silver_from])
    return _normal_below((cuts[:, None] - share) / seen.eggs.spread[light_class])


# The normal distribution function in slices of 1/1024: straight lines between them are within 3e-8 of it, and five
# times as fast as the function itself, which most of a forecast's time would go to.
SLICES = 1024
FARTHEST = 8.0
NORMAL_BELOW = ndtr(np.arange(-FARTHEST, FARTHEST + 2 / SLICES, 1 / SLICES))
NORMAL_RISE = np.diff(NORMAL_BELOW)


def _normal_below(scores: np.ndarray) -> np.ndarray:
    place = (np.minimum(np.maximum(scores, -FARTHEST), FARTHEST) + FARTHEST) * SLICES
    slices = place.astype(np.intp)
    return np.take(NORMAL_BELOW, slices) + (place - slices) * np.take(NORMAL_RISE, slices)


def tails_shown(hidden: np.ndarray, light_class: int, seen: Seen) -> np.ndarray:
    """Return q, the chance that tails show: most * light * (1 - hidden), see `tails_hidden`."""
    tails = asked(seen.tails)
    return tails.most * tails.light[light_class] * (1 - hidden)


def tails_hidden(days: np.ndarray, seen: Seen) -> np.ndarray:
    """Return how far tails are still hidden `days` since hatching: exp(-rate * (days + head start))."""
    tails = asked(seen.tails)
    return np.exp(np.clip(-tails.rate_per_day * (days + tails.head_start_days), -300, 300))


def asked(section: Section | None) -> Section:
    """Return the numbers of a part; a part that is not asked of a species must have been left out before."""
    if section is None:
        raise LookupError("a part of a look was read that is not asked of this species")
    return section
