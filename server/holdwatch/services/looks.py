"""Looks as the domain knows them, read from their records."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ..domain.looks import VALUES, Look
from ..records.instants import parse_instant
from .sync.stored import Stored


def looks_of(records: Iterable[Stored]) -> Iterator[Look]:
    """The looks among these records that are dated; a part that was not seen is None."""
    for record in records:
        if record.value("at"):
            parts = {part: record.value(part) for part in VALUES}
            light = record.value("light") or "none"
            recalled = bool(record.value("recalled"))
            yield Look(record.id, parse_instant(record.value("at")), light, **parts, recalled=recalled)
