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
from itertools import groupby

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
        asked = ("mouth",) if self.recalled else ("mouth", "eggs", "tails", "food", "loose_fry")
        return {part: getattr(self, part) for part in asked if getattr(self, part) is not None}

    def light_class(self) -> int:
        """Return how good the light was, 0 the best."""
        return RECALLED if self.recalled else CLASS_OF_LIGHT[self.light]


@dataclass(frozen=True)
class Finding:
    """One part of one evening's look: the readings under the best light, and all that were made."""

    part: str
    light_class: int
    values: tuple[str, ...]
    every_value: tuple[str, ...]

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
    readings = [(look.light_class(), look.findings()[part]) for look in group if part in look.findings()]
    if not readings:
        return None
    best = min(light for light, _ in readings)
    under_best = tuple(value for light, value in readings if light == best)
    return Finding(part, best, under_best, tuple(value for _, value in readings))


def chances_by_state(part: str, light_class: int, seen: Seen) -> np.ndarray:
    """Return the chances of each value of `part` in each state, shape (6 states, values).

    Of eggs the rows of the states between spawn and release are left at nan, for they follow x/E: see `colour_form`;
    of tails the rows are those of a male who never shows them: see `tails_form`.
    """
    return {"mouth": _mouth, "eggs": _eggs, "tails": _tails, "food": _food, "loose_fry": _loose_fry}[part](
        light_class, seen
    )


def _mouth(light_class: int, seen: Seen) -> np.ndarray:
    mouth = seen.mouth
    if light_class == RECALLED:
        empty, holding, releasing = mouth.empty_recalled, mouth.holding_recalled, mouth.holding_recalled
    elif light_class == NIGHT:
        empty, holding, releasing = mouth.empty_night, mouth.holding_night, mouth.releasing
    else:
        empty, holding, releasing = mouth.empty_white, mouth.holding_white, mouth.releasing
    return np.array([empty, holding, holding, holding, releasing, empty])


def _eggs(light_class: int, seen: Seen) -> np.ndarray:
    imagined = seen.eggs.imagined
    empty = (imagined, imagined, imagined, 1 - 3 * imagined)
    unknown = (np.nan,) * 4
    return np.array([empty, unknown, unknown, unknown, unknown, empty])


def _tails(light_class: int, seen: Seen) -> np.ndarray:
    orange, eyed = (
        (sure, perhaps, 1 - sure - perhaps) for sure, perhaps in (seen.tails.false_orange, seen.tails.false_eyed)
    )
    return np.array([orange, orange, eyed, eyed, eyed, orange])


def _food(light_class: int, seen: Seen) -> np.ndarray:
    holding, empty = seen.food.holding, seen.food.empty
    return np.array([empty, holding, holding, holding, holding, empty])


def _loose_fry(light_class: int, seen: Seen) -> np.ndarray:
    fry = seen.loose_fry
    chance = np.array([fry.otherwise] * 4 + [fry.releasing, fry.released])
    return np.column_stack([chance, 1 - chance])


def colour_form(light_class: int, seen: Seen) -> np.ndarray:
    """Return the chances of orange, turning, silver and none while he holds, linear in (1, *`colour_steps`), (4, 3).

    An ordered probit with a lapse: (1 - missed) ((1 - lapse) P(colour) + lapse / 3), and none with chance `missed`.
    """
    missed, lapse = seen.eggs.missed, seen.eggs.lapse[light_class]
    probit = np.array([[0, 1, 0], [0, -1, 1], [1, 0, -1]], dtype=float)
    colours = (1 - missed) * ((1 - lapse) * probit + lapse / 3 * np.array([1, 0, 0]))
    return np.vstack([colours, [missed, 0, 0]])


def colour_steps(share: np.ndarray, light_class: int, seen: Seen) -> np.ndarray:
    """Return the chances that the colour named is at most orange, and at most turning, without lapse: (2, n).

    `share` (n) is the age of a brood over its age at silver, x/E: Phi((cut - x/E) / spread).
    """
    cuts = np.array([seen.eggs.turning_from, seen.eggs.silver_from])
    return ndtr((cuts[:, None] - share) / seen.eggs.spread[light_class])


def tails_form(seen: Seen) -> np.ndarray:
    """Return the chances of seen, perhaps and none for young that he lets be seen, linear in (1, q), (3, 2)."""
    sure, perhaps = seen.tails.sure_share, seen.tails.perhaps_unshown
    return np.array([[0, sure], [perhaps, 1 - sure - perhaps], [1 - perhaps, perhaps - 1]])


def tails_shown(days: np.ndarray, light_class: int, seen: Seen) -> np.ndarray:
    """Return q, the chance that tails show, at `days` (n) >= 0 since hatching.

    q = most * light * (1 - exp(-rate * (days + head start))).
    """
    tails = seen.tails
    hidden = np.exp(-tails.rate_per_day * (days + tails.head_start_days))
    return tails.most * tails.light[light_class] * (1 - hidden)
