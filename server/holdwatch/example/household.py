"""The example household as data; days count from the spawning, times are local to the tank.

Everybody and everything in it is invented. Its forecasts are computed like any other, not stored.
"""

from __future__ import annotations

from dataclasses import dataclass

HOUSEHOLD = "Tern Quay 4"
PASSWORD = "red-lamp-on-the-shelf"
ZONE = "Europe/Copenhagen"


@dataclass(frozen=True)
class Person:
    """Somebody in the house."""

    name: str
    role: str
    login: str


@dataclass(frozen=True)
class Tank:
    """A tank and its lamps."""

    name: str
    set_point_c: float
    lamps_out: str
    lamps_on: str
    company: str
    litres: float


@dataclass(frozen=True)
class Male:
    """A male, where he lives and where he is to be found."""

    name: str
    tank: str
    spot: str
    has_released_before: bool


@dataclass(frozen=True)
class Seen:
    """A look on a day of the hold; the parts that are missing were not seen."""

    day: int
    time: str
    light: str
    parts: dict[str, str]
    by: str = "Mira"
    note: str | None = None


@dataclass(frozen=True)
class Batch:
    """Young of a caught brood in their nursery until they were weaned; counts are days after the catch and how many."""

    name: str
    spot: str
    litres: float
    portion: str
    alive: int
    weaned_after_days: int
    counts: tuple[tuple[int, int], ...]


@dataclass(frozen=True)
class Brood:
    """One hold; `spawned_days_ago` counts to the evening of the spawning."""

    male: str
    spawned_days_ago: int
    seen: tuple[Seen, ...]
    spawning_seen: bool = False
    ended: str | None = None
    ended_day: int = 0
    counts: tuple[int, int, int] | None = None
    kept: int | None = None
    batch: Batch | None = None


PEOPLE = (
    Person("Mira", "owner", "mira"),
    Person("Jonas", "keeper", "jonas"),
    Person("Tove", "helper", "tove"),
)

TANKS = (
    Tank("Hall tank", 26.5, "21:30", "08:30", "others", 240),
    Tank("Study cube", 26.0, "22:00", "09:00", "alone", 90),
)

MALES = (
    Male("Quill", "Hall tank", "left of the urchin rock", True),
    Male("Comma", "Hall tank", "under the overhang on the right", True),
    Male("Saffron", "Study cube", "behind the sponge", False),
)

FULL = {"mouth": "full"}
ORANGE = {"mouth": "full", "eggs": "orange"}
SILVER = {"mouth": "full", "eggs": "silver"}


def _red(day: int, by: str = "Mira", **parts: str) -> Seen:
    return Seen(day, "22:00", "red", {"mouth": "full", **parts}, by)


def _by_day(day: int, by: str = "Mira", **parts: str) -> Seen:
    return Seen(day, "18:10", "daylight", {"mouth": "full", **parts}, by)


BROODS = (
    Brood(
        "Saffron",
        97,
        (
            Seen(1, "18:20", "daylight", ORANGE, note="His first hold that we know of."),
            Seen(3, "18:05", "daylight", {"mouth": "normal", "food": "ate"}),
            Seen(4, "18:15", "dim_white", {"mouth": "normal"}, "Jonas"),
        ),
        ended="lost",
        ended_day=4,
    ),
    Brood(
        "Quill",
        88,
        (
            _by_day(1, eggs="orange", food="ignored"),
            _by_day(8, eggs="orange"),
            _by_day(15, eggs="silver"),
            _red(19, tails="none"),
            _red(20, tails="perhaps"),
            _red(21, tails="seen"),
        ),
        spawning_seen=True,
        ended="caught",
        ended_day=21,
        counts=(0, 29, 0),
        kept=27,
        batch=Batch("Kitchen shelf", "left, by the window", 36, "two pipettes", 27, 48, ((9, 25), (30, 24))),
    ),
    Brood(
        "Comma",
        61,
        (
            _by_day(2, eggs="orange", food="ignored"),
            _by_day(9, "Jonas", eggs="orange"),
            _by_day(16, eggs="silver", food="ignored"),
            _red(20, "Jonas", tails="seen"),
            Seen(23, "22:10", "red", {"mouth": "smaller", "loose_fry": "seen"}, "Jonas"),
        ),
        ended="released",
        ended_day=23,
        kept=12,
    ),
    Brood(
        "Saffron",
        56,
        (
            _by_day(1, eggs="orange"),
            _by_day(11, "Tove", food="ignored"),
            _by_day(16, eggs="silver"),
            Seen(21, "22:35", "red", {"mouth": "full", "tails": "seen"}),
        ),
        ended="caught",
        ended_day=21,
        counts=(1, 22, 0),
        kept=20,
        batch=Batch("Study shelf", "under the cube", 30, "two pipettes", 20, 33, ((8, 19), (22, 17))),
    ),
    Brood(
        "Quill",
        18,
        (
            _by_day(1, eggs="orange", food="ignored"),
            _by_day(4, "Tove", food="ignored"),
            _by_day(7, eggs="orange"),
            _by_day(10, "Jonas", food="ignored"),
            _by_day(12, eggs="turning"),
            _by_day(14, eggs="silver", food="ignored"),
            _red(16, tails="none"),
            _red(17, "Jonas", tails="perhaps"),
        ),
    ),
)

TIN = {
    "name": "Blue tin, opened in autumn",
    "sort": "brine_shrimp",
    "nauplii_per_gram": 180_000,
    "hours_to_hatch": 24,
    "measure": "small knife tip",
    "measure_grams": 0.01,
}
"""The house's brine shrimp; the yield as they counted it."""

FED_DAYS_BEFORE_SPAWNING = (1, 2)
"""The evenings before his hold on which the male under way took his food."""

TEMPERATURES_C = (26.4, 26.6, 26.5, 26.7, 26.4, 26.3, 26.6, 26.8)
"""Typed every third day in the hall, the oldest first."""
