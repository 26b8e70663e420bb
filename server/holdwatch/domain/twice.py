"""Which records tell of one event that two people logged, or one by a double tap.

They are counted once; each of them stays, and a word on a record (`separate`) says that it is an event of its own. The
same rules as the client's `domain/twice.ts`; both run on `tests/twice_vectors.json`. All spans are common practice, no
source.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

MINUTE_MS = 60_000
EVENTS = frozenset({"spawning", "courtship", "caught", "loose_fry_handled"})
"""What is said of a duty is everybody's own word, and no event."""
DOUBLE_TAP_MS = MINUTE_MS
"""What one person logs twice on one phone within this time, the same in all, was a double tap."""
ERROR_UP_TO_MIN = 90.0
"""A time may be as far off as was said, and is taken to be at most so far off."""
AS_WARM = 0.1
"""A step of a thermometer, °C."""


@dataclass(frozen=True)
class Rule:
    """When two records of a kind tell of one event."""

    span_min: float
    """So far apart two people may log it."""
    alike: tuple[str, ...]
    """What must be the same where both say it."""
    findings: tuple[str, ...] = ()
    """The same, and of these both must say at least one: a look at his mouth and one at the eggs are two."""


RULES: Mapping[str, Rule] = {
    "look": Rule(60, ("light", "recalled"), ("mouth", "eggs", "tails", "food", "loose_fry", "clutch")),
    "feeding": Rule(60, ("took", "belly")),
    "count": Rule(60, (), ("alive", "dead")),
    "water_change": Rule(60, ("litres",)),
    "reading": Rule(30, (), ("temperature_c",)),
    # A spawning goes on for hours, and a catch takes its time.
    "mark": Rule(180, ("what", "eggs", "yolk", "free")),
}
LONGEST_MS = (max(rule.span_min for rule in RULES.values()) + ERROR_UP_TO_MIN) * MINUTE_MS


@dataclass(frozen=True)
class Noted:
    """A record as far as it matters here; without a time `at_ms` is None."""

    id: str
    kind: str
    about: str
    """What it counts as being about; empty where that is nothing."""
    at_ms: int | None
    author: str
    device: str
    values: Mapping[str, Any]


def events(records: Iterable[Noted]) -> list[list[Noted]]:
    """The records as events in the order of time, each with all that tell of it, the first first."""
    groups: list[list[Noted]] = []
    oldest = 0
    for one in sorted(records, key=lambda record: (record.at_ms or 0, record.id)):
        while oldest < len(groups) and (one.at_ms or 0) - (groups[oldest][0].at_ms or 0) > LONGEST_MS:
            oldest += 1
        group = next((group for group in groups[oldest:] if all(_same(other, one) for other in group)), None)
        if group is None:
            groups.append([one])
        else:
            group.append(one)
    return groups


def _same(one: Noted, other: Noted) -> bool:
    rule = RULES.get(one.kind)
    if rule is None or one.kind != other.kind or one.about != other.about or not one.about:
        return False
    if not (_is_event(one) and _is_event(other)):
        return False
    apart = abs((other.at_ms or 0) - (one.at_ms or 0))
    if (one.author, one.device) == (other.author, other.device):
        return apart <= DOUBLE_TAP_MS and _repeated(one, other, rule)
    span = rule.span_min + max(_error_min(one), _error_min(other))
    return apart <= span * MINUTE_MS and _agree(one, other, rule)


def _is_event(record: Noted) -> bool:
    own = record.values.get("separate") is True or record.values.get("gone") is True or record.at_ms is None
    return not own and (record.kind != "mark" or record.values.get("what") in EVENTS)


def _error_min(record: Noted) -> float:
    return min(float(record.values.get("at_error_min") or 0), ERROR_UP_TO_MIN)


def _said(record: Noted, name: str) -> Any:
    """What a record says under that name; whether it was filled in afterwards every look says."""
    value = record.values.get(name)
    return value is True if name == "recalled" else value


def _agree(one: Noted, other: Noted, rule: Rule) -> bool:
    def both(names: Sequence[str]) -> list[str]:
        return [name for name in names if _said(one, name) is not None and _said(other, name) is not None]

    found = both(rule.findings)
    alike = all(_alike(_said(one, name), _said(other, name)) for name in (*both(rule.alike), *found))
    return alike and bool(found or not rule.findings)


def _repeated(one: Noted, other: Noted, rule: Rule) -> bool:
    return all(_said(one, name) == _said(other, name) for name in (*rule.alike, *rule.findings, "note"))


def _alike(one: Any, other: Any) -> bool:
    if isinstance(one, int | float) and isinstance(other, int | float) and not float(one - other).is_integer():
        # A tenth has no exact number, so that 26.2 - 26.1 is a little more than one.
        return abs(one - other) <= AS_WARM + 1e-9
    return bool(one == other)
