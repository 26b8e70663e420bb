"""What is known about a species: numbers with their unit, spread and source, read from its profile.

A profile is data. Every number in it is a table ``{value, unit, spread?, source}``; here it becomes frozen
dataclasses of plain floats for the arithmetic, and keeps the list of numbers with their sources for the screens.
"""

from collections.abc import Iterator, Mapping
from dataclasses import Field, dataclass, fields, is_dataclass
from typing import Any

WAYS = ("young stay in the mouth",)
CLOCKS = ("q10", "degree days")


class BadProfile(ValueError):
    """A species profile that cannot be used, and why."""


@dataclass(frozen=True)
class Number:
    """One number of a profile with its unit, the spread of its natural log, and its source."""

    name: str
    value: float | tuple[float, ...]
    unit: str
    source: str
    spread: float | None = None


@dataclass(frozen=True)
class Development:
    """The development clock and the steps inside the egg; days are at the reference temperature, spreads of the log."""

    clock: str
    reference_c: float
    q10: float
    q10_spread: float
    zero_c: float
    hatch_days: float
    hatch_spread_books: float
    hatch_spread_male: float
    hatch_spread_brood: float
    silver_share: float
    silver_share_spread: float
    thermometer_spread_c: float
    thermometer_spread_unread_c: float


@dataclass(frozen=True)
class Kind:
    """One kind of household: how long its young stay in the mouth after hatching, and how many are of it."""

    days: float
    days_spread: float
    share: float


@dataclass(frozen=True)
class MouthTime:
    """The time from hatching to the last young let go; spreads of the log."""

    kinds: tuple[Kind, ...]
    spread_male: float
    spread_brood: float
    release_days: float
    release_days_spread: float


@dataclass(frozen=True)
class Spawning:
    """What is known of the instant of spawning when nobody saw it."""

    courtship_chance: float
    courtship_hours: float
    longest_unseen_days: float


@dataclass(frozen=True)
class Loss:
    """How broods are lost: early with some chance, otherwise at a constant hazard."""

    early_chance_experienced: float
    early_chance_first: float
    early_mean_days: float
    hazard_per_day: float


@dataclass(frozen=True)
class SeenMouth:
    """Chances of full, smaller and normal by what he holds and the class of light."""

    holding_white: tuple[float, ...]
    holding_night: tuple[float, ...]
    releasing: tuple[float, ...]
    empty_white: tuple[float, ...]
    empty_night: tuple[float, ...]
    holding_recalled: tuple[float, ...]
    empty_recalled: tuple[float, ...]


@dataclass(frozen=True)
class SeenEggs:
    """The ordered probit of the colour of eggs; tuples run over daylight, dim white, and red, blue or no light."""

    turning_from: float
    silver_from: float
    spread: tuple[float, ...]
    lapse: tuple[float, ...]
    missed: float
    imagined: float


@dataclass(frozen=True)
class SeenTails:
    """How tails come to be seen after hatching, and mistaken before; `shown_by` is the share of males who show them."""

    shown_by: float
    most: float
    rate_per_day: float
    head_start_days: float
    light: tuple[float, ...]
    sure_share: float
    perhaps_unshown: float
    false_orange: tuple[float, ...]
    false_eyed: tuple[float, ...]


@dataclass(frozen=True)
class SeenFood:
    """Chances of ate, spat and ignored at a normal feeding."""

    holding: tuple[float, ...]
    empty: tuple[float, ...]


@dataclass(frozen=True)
class SeenLooseFry:
    """Chances of seeing loose fry."""

    releasing: float
    released: float
    otherwise: float


@dataclass(frozen=True)
class Seen:
    """The observation model: what each part of a look says."""

    mouth: SeenMouth
    eggs: SeenEggs
    tails: SeenTails
    food: SeenFood
    loose_fry: SeenLooseFry
    catch_fits: float


@dataclass(frozen=True)
class Worth:
    """The share of the clutch that a catch saves, by what he holds then."""

    held: float
    held_gain: float
    held_gain_days: float
    eggs: float
    eyed: float
    eyed_with_tumbler: float
    free_among_others: float
    free_alone: float


@dataclass(frozen=True)
class Plans:
    """How the two ways of saving a brood go: netting him on the night, and moving him ahead to sit alone."""

    net_succeeds: float
    failed_try_loses: float
    male_cost: float
    people_to_net: float
    move_at_share: float
    move_risk: float
    people_to_move: float


@dataclass(frozen=True)
class Range:
    """The temperatures that the species is known to live in."""

    low_c: float
    high_c: float


@dataclass(frozen=True)
class Profile:
    """All that the forecast knows about one species."""

    species: str
    common_name: str
    way: str
    temperature: Range
    development: Development
    mouth: MouthTime
    spawning: Spawning
    loss: Loss
    seen: Seen
    worth: Worth
    plans: Plans
    numbers: tuple[Number, ...]


def parse_profile(mapping: Mapping[str, Any]) -> Profile:
    """Return the profile that a parsed TOML mapping holds, or raise `BadProfile` naming the place."""
    profile = _built(Profile, {**mapping, "numbers": tuple(_numbers("", mapping))}, "")
    if profile.way not in WAYS:
        raise BadProfile(f"way: {profile.way!r} is none of {', '.join(WAYS)}")
    if profile.development.clock not in CLOCKS:
        raise BadProfile(f"development.clock: {profile.development.clock!r} is none of {', '.join(CLOCKS)}")
    return profile


def _built(kind: Any, table: Mapping[str, Any], where: str) -> Any:
    """Return the dataclass `kind` with its fields read from `table`; a field `x_spread` is the spread of `x`."""
    return kind(**{field.name: _field(field, table, where) for field in fields(kind)})


def _field(field: Field[Any], table: Mapping[str, Any], where: str) -> Any:
    place = f"{where}{field.name}"
    if field.name not in table and field.name.endswith("_spread"):
        return _part("spread", table.get(field.name.removesuffix("_spread"), {}), place)
    entry = _part(field.name, table, place)
    if field.name == "kinds":
        return tuple(_built(Kind, row, f"{place}.") for row in entry)
    if is_dataclass(field.type):
        return _built(field.type, entry, f"{place}.")
    return _plain(entry, place) if isinstance(entry, Mapping) else entry


def _part(name: str, table: Mapping[str, Any], place: str) -> Any:
    if name not in table:
        raise BadProfile(f"{place}: missing")
    return table[name]


def _plain(entry: Mapping[str, Any], place: str) -> float | tuple[float, ...]:
    value = _part("value", entry, place)
    return tuple(map(float, value)) if isinstance(value, list) else float(value)


def _numbers(where: str, table: Mapping[str, Any]) -> Iterator[Number]:
    """Yield every number below `table` with its dotted name; raise `BadProfile` at one without unit or source."""
    for name, entry in table.items():
        place = f"{where}{name}"
        if isinstance(entry, list):
            for index, row in enumerate(entry):
                yield from _numbers(f"{place}.{index}.", row)
        elif isinstance(entry, Mapping) and "value" in entry:
            yield _number(place, entry)
        elif isinstance(entry, Mapping):
            yield from _numbers(f"{place}.", entry)
        elif not isinstance(entry, str):
            raise BadProfile(f"{place}: a number is a table of value, unit and source")


def _number(place: str, entry: Mapping[str, Any]) -> Number:
    for part in ("unit", "source"):
        if not entry.get(part):
            raise BadProfile(f"{place}: a number without {part}")
    return Number(place, _plain(entry, place), entry["unit"], entry["source"], entry.get("spread"))
