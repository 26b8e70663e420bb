"""Reads a profile: every number in it is a table ``{value, unit, spread?, source}``, every section a dataclass.

A section that belongs to one way of breeding may be absent; which ones must be there, `SECTIONS` says.
"""

from collections.abc import Iterator, Mapping
from dataclasses import Field, fields, is_dataclass, replace
from operator import attrgetter
from types import UnionType
from typing import Any, get_args

from .profile import AT_HATCHING, IN_THE_MOUTH, NEST, Kind, Number, Profile, Rearing

CLOCKS = ("q10", "degree days")
FIRST_FOODS = ("brine_shrimp", "rotifers", "copepods")
OF_ONE_WAY = {
    "mouth time": "mouth",
    "hatching": "hatching",
    "held": "held",
    "plans": "plans",
    "seen mouth": "seen.mouth",
    "seen clutch": "seen.clutch",
    "seen tails": "seen.tails",
    "seen food": "seen.food",
}
HOLDER = {"seen mouth", "seen tails", "seen food"}
SECTIONS = {
    IN_THE_MOUTH: {"mouth time", "held", "plans"} | HOLDER,
    AT_HATCHING: {"hatching"} | HOLDER,
    NEST: {"hatching", "seen clutch"},
}


class BadProfile(ValueError):
    """A species profile that cannot be used, and why."""


def parse_profile(mapping: Mapping[str, Any]) -> Profile:
    """Return the profile that a parsed TOML mapping holds, or raise `BadProfile` naming the place."""
    profile: Profile = _built(Profile, {**mapping, "numbers": tuple(_numbers("", mapping))}, "")
    if profile.way not in SECTIONS:
        raise BadProfile(f"way: {profile.way!r} is none of {', '.join(SECTIONS)}")
    for section, place in OF_ONE_WAY.items():
        if (attrgetter(place)(profile) is not None) != (section in SECTIONS[profile.way]):
            wanted = "missing" if section in SECTIONS[profile.way] else "not for this way of breeding"
            raise BadProfile(f"{place}: {wanted}")
    if profile.development.clock not in CLOCKS:
        raise BadProfile(f"development.clock: {profile.development.clock!r} is none of {', '.join(CLOCKS)}")
    _check_rearing(profile.rearing)
    return profile


def _check_rearing(rearing: Rearing) -> None:
    if rearing.first_food not in FIRST_FOODS:
        raise BadProfile(f"rearing.first_food: {rearing.first_food!r} is none of {', '.join(FIRST_FOODS)}")
    if len(rearing.ration_from_days) != len(rearing.ration_nauplii):
        raise BadProfile("rearing.ration_nauplii: wants one value for each of ration_from_days")


def _built(kind: Any, table: Mapping[str, Any], where: str) -> Any:
    """Return the dataclass `kind` with its fields read from `table`; a field `x_spread` is the spread of `x`."""
    return kind(**{field.name: _field(field, table, where) for field in fields(kind)})


def _field(field: Field[Any], table: Mapping[str, Any], where: str) -> Any:
    place = f"{where}{field.name}"
    if field.name not in table and field.name.endswith("_spread"):
        return _part("spread", table.get(field.name.removesuffix("_spread"), {}), place)
    if isinstance(field.type, UnionType):
        section = next(kind for kind in get_args(field.type) if is_dataclass(kind))
        return _built(section, table[field.name], f"{place}.") if field.name in table else None
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
    value = _plain(entry, place)
    return Number(place, value, entry["unit"], entry["source"], entry.get("spread"), _range(entry, value, place))


def _range(entry: Mapping[str, Any], value: float | tuple[float, ...], place: str) -> tuple[float, float] | None:
    if "range" not in entry:
        return None
    low, high = map(float, entry["range"]) if len(entry["range"]) == 2 else (0.0, 0.0)
    if isinstance(value, tuple) or not low <= value <= high or low == high:
        raise BadProfile(f"{place}: its range must be two numbers around its value")
    return low, high


def with_number(profile: Profile, name: str, value: float) -> Profile:
    """Return the profile with the number of that dotted name put to another value."""
    return _put(profile, name.split("."), value)


def _put(held: Any, names: list[str], value: float) -> Any:
    first, rest = names[0], names[1:]
    if isinstance(held, tuple):
        return tuple(_put(one, rest, value) if str(index) == first else one for index, one in enumerate(held))
    return replace(held, **{first: _put(getattr(held, first), rest, value) if rest else value})
