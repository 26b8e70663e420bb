"""A duty: one thing somebody must do, with a key that stays the same however often it is planned."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

Kind = Literal[
    "look_tonight",
    "look_by_day",
    "window_opens",
    "catch_tonight",
    "move_male",
    "collect_larvae",
    "fry_loose",
    "larvae_loose",
    "may_be_lost",
    "pumps_on",
    "part_pair",
    "eating_again",
    "condition_check",
    "rest_over",
    "pair_again",
    "too_warm",
    "too_cold",
    "first_food",
    "start_food",
    "feed_fry",
    "test_water",
    "change_water",
    "ammonia_high",
    "count_fry",
]
Unit = Literal["g", "L"]

# The first part of each key; looks and loose fry also bear their night, and what is done in a nursery its day. Kinds
# with the same first part are one matter: the look of one evening, by day or by night, and the one act that saves the
# brood.
KEY_OF_KIND: dict[Kind, str] = {
    "look_tonight": "look",
    "look_by_day": "look",
    "window_opens": "window",
    "catch_tonight": "catch",
    "move_male": "catch",
    "collect_larvae": "catch",
    "fry_loose": "loose",
    "larvae_loose": "loose",
    "may_be_lost": "lost",
    "pumps_on": "pumps",
    "part_pair": "part",
    "eating_again": "eats",
    "condition_check": "condition",
    "rest_over": "rest",
    "pair_again": "pair",
    "too_warm": "warm",
    "too_cold": "cold",
    "first_food": "food",
    "start_food": "hatch",
    "feed_fry": "feed",
    "test_water": "test",
    "change_water": "change",
    "ammonia_high": "ammonia",
    "count_fry": "count",
}

LOOSE: frozenset[Kind] = frozenset({"fry_loose", "larvae_loose"})
"""Of loose young: everybody's, told at once, and they come again."""


AFTERWARDS: frozenset[Kind] = frozenset(
    {"pumps_on", "part_pair", "eating_again", "condition_check", "rest_over", "pair_again"}
)
"""Of a brood that is over."""

OF_A_NURSERY: frozenset[Kind] = frozenset(
    {"start_food", "feed_fry", "test_water", "change_water", "ammonia_high", "count_fry"}
)
"""Of young in their nursery vessel."""


@dataclass(frozen=True)
class Amount:
    """How much: grams or litres, and how often the house's own measure, as far as either is known."""

    quantity: float | None = None
    unit: Unit | None = None
    measures: float | None = None
    measure: str | None = None


@dataclass(frozen=True)
class Duty:
    """One duty of one brood; `brood` is the tank where it is about a tank's water, and the batch where about a nursery.

    `due_at` is when to act, `tell_at` when people are told, `until_at` when it has lost its use. `night` bears the
    date of the evening on which it begins. What comes after `until_at` follows from people's marks.
    """

    key: str
    kind: Kind
    brood: str
    night: date
    due_at: datetime
    tell_at: datetime
    until_at: datetime
    taken_by: str | None = None
    done_at: datetime | None = None
    skipped: bool = False
    """It is over because somebody said that it need not be done."""
    put_off: tuple[tuple[str, datetime], ...] = ()
    """Who said *later*, and until when."""
    amount: Amount | None = None

    def moved(self, before: Duty) -> bool:
        """Whether people who heard of it before must hear of it again."""
        return (self.night, self.due_at) != (before.night, before.due_at)


def brood_key(kind: Kind, brood: str) -> str:
    """The key of what a brood has once, such as its catch."""
    return f"{KEY_OF_KIND[kind]}:{brood}"


def night_key(kind: Kind, brood: str, night: date) -> str:
    """The key of what comes back from night to night, such as a look, or from day to day."""
    return f"{KEY_OF_KIND[kind]}:{brood}:{night.isoformat()}"
