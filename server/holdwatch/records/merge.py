"""How two copies of a record become one: field by field, the later stamp wins.

Commutative, associative and idempotent: a push may be repeated without thought.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, NamedTuple

import orjson


class Stamped(NamedTuple):
    """A field's value with the stamp of its writing and the stamp that it replaced."""

    value: Any
    stamp: str
    was: str | None = None
    author: str | None = None
    revision: int = 0
    """The record's revision at which the server merged it in."""


Mark = tuple[str, str | None, str | None, int]
"""All of a field but its value, in the order of `Stamped`: the fields of one writing share one."""
Fields = Mapping[str, Stamped]
DEVICE_LENGTH = 8

_ENCODER = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
# What orjson writes as the encoder does, at a tenth of the time. A number with a point it may write otherwise.
_ALIKE = frozenset({str, int, bool, type(None)})


def canonical(value: Any) -> str:
    """One text for one JSON value: sorted keys, no spaces, 26.0 written as 26."""
    if type(value) in _ALIKE or type(value) is dict and _ALIKE.issuperset(map(type, value.values())):
        try:
            return canonical_pointless(value)
        except orjson.JSONEncodeError:
            # Beyond 64 bits, half of a surrogate pair, or a name that is no text: orjson does not write these.
            pass
    return _ENCODER.encode(_whole(value))


def canonical_pointless(value: Any) -> str:
    """`canonical`, at once, of a value that is known to hold text and 64-bit whole numbers alone."""
    return orjson.dumps(value, option=orjson.OPT_SORT_KEYS).decode()


def wins(new: Stamped, old: Stamped) -> bool:
    """Whether `new` replaces `old`: the later stamp, and of equal stamps the greater canonical JSON."""
    if new.stamp != old.stamp:
        return new.stamp > old.stamp
    return canonical(new.value) > canonical(old.value)


def merge(one: Fields, other: Fields) -> dict[str, Stamped]:
    """Both copies' fields, each with the value that wins."""
    merged = dict(one)
    for name, field in other.items():
        if name not in merged or wins(field, merged[name]):
            merged[name] = field
    return merged


def unaware(new: Stamped, old: Stamped, seen: int | None) -> bool:
    """Whether the two edits did not know of each other; `seen` is the record's revision that `new`'s writer had.

    `was` alone would not do: between the two there may lie an edit of that writer's which was refused.
    """
    of_one_device = new.stamp[-DEVICE_LENGTH:] == old.stamp[-DEVICE_LENGTH:]
    knew = new.was == old.stamp or (seen is not None and seen >= old.revision)
    return not (of_one_device or knew or old.was == new.stamp)


def _whole(value: Any) -> Any:
    if isinstance(value, float) and value.is_integer():
        return int(value)
    if isinstance(value, dict):
        return {key: _whole(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_whole(item) for item in value]
    return value
