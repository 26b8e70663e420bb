"""Instants as text (ISO 8601 with an offset) and as whole milliseconds since 1970 UTC."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


class BadInstant(ValueError):
    """A text that is no instant; the message says what is missing."""


def parse_instant(text: object) -> datetime:
    """The instant in UTC; BadInstant without a date, a time or an offset."""
    if not isinstance(text, str):
        raise BadInstant("an instant is text, such as 2026-11-25T20:10:00Z")
    try:
        instant = datetime.fromisoformat(text)
    except ValueError:
        raise BadInstant(f"{text[:40]!a} is no instant such as 2026-11-25T20:10:00Z") from None
    if instant.tzinfo is UTC:
        return instant
    if instant.tzinfo is None:
        raise BadInstant(f"{text[:40]!a} has no offset from UTC; add Z or +01:00")
    try:
        return instant.astimezone(UTC)
    except OverflowError:
        raise BadInstant(f"{text[:40]!a} is too far away in time") from None


def instant_text(instant: datetime) -> str:
    """UTC with milliseconds; texts of instants sort as the instants do."""
    return instant.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def milliseconds(instant: datetime) -> int:
    """Whole milliseconds since 1970 UTC, rounded down."""
    return (instant - EPOCH) // timedelta(milliseconds=1)


def from_milliseconds(count: int) -> datetime:
    """The instant that many milliseconds after 1970 UTC."""
    return EPOCH + timedelta(milliseconds=count)
