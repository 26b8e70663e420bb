"""Records as the events that they tell of: what two people logged counts once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from ..domain import twice
from ..records.instants import milliseconds, parse_instant
from .sync.stored import Stored


def events_of(records: Iterable[Stored], same: Mapping[str, str] | None = None) -> list[list[Stored]]:
    """The records as events in the order of time, each with all that tell of it.

    `same` says what a record that is about one thing counts as being about: a feeding may name the male or his brood.
    """
    by_id = {record.id: record for record in records}
    noted = [_noted(record, same or {}) for record in by_id.values()]
    return [[by_id[one.id] for one in event] for event in twice.events(noted)]


def once(records: Iterable[Stored]) -> tuple[Stored, ...]:
    """One record of each event: the first that tells of it."""
    return tuple(event[0] for event in events_of(records))


def _noted(record: Stored, same: Mapping[str, str]) -> twice.Noted:
    about, at = record.value("about") or "", record.value("at")
    values = {name: field.value for name, field in record.fields.items()}
    at_ms = milliseconds(parse_instant(at)) if at else None
    return twice.Noted(record.id, record.kind, same.get(about, about), at_ms, record.author, record.device, values)
