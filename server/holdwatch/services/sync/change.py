"""One change as a device sent it, and the verdict on it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from ...records.fields import ID, UNSTORABLE
from ...records.kinds import KINDS
from ...records.merge import Mark, Stamped, canonical
from ...records.stamps import DEVICE, BadStamp, checked_stamp

KNOWN_NAMES = frozenset(name for schema in KINDS.values() for name in schema.fields)
ID_LENGTH = 36
FIELDS_LIMIT = 40
VALUE_LIMIT = 16_384


Written = tuple[dict[str, Any], dict[str, Mark], str]
"""Values, their marks, and the latest stamp."""


class Refusal(Exception):
    """Why a change cannot be taken, in words that a person can act on."""


class Change(NamedTuple):
    """A record's identity, fixed for ever, and the fields that were written."""

    id: str
    kind: str
    author: str
    device: str
    values: dict[str, Any]
    marks: dict[str, Mark]
    """Of each value."""
    latest: str
    """The latest of its stamps."""
    seen: int | None
    """The record's revision that its writer had before him; None if he knew of none."""
    revision: int
    """The household's revision that this change raises it to."""
    held: bool
    """Whether the server had taken all of it before it was set back, so that it is no new writing."""

    def field(self, name: str) -> Stamped:
        """A field that was written."""
        return Stamped(self.values[name], *self.marks[name])

    @property
    def about(self) -> str | None:
        """What may be the id that the change says the record is about, if it says so."""
        said = self.values.get("about")
        return said if isinstance(said, str) and len(said) == ID_LENGTH else None


class Verdict(NamedTuple):
    """`taken`, `later`, `clock` or `refused`, with the reason and the fields that were not taken."""

    id: str | None
    verdict: str
    reason: str | None = None
    fields: tuple[str, ...] = ()


def read_change(raw: Any, sender: str, revision: int) -> Change:
    """Check the shape of a change that the person `sender` sent; Refusal if it has another."""
    if not isinstance(raw, dict):
        raise Refusal("A change must be an object.")
    record_id, kind, author, device = raw.get("id"), raw.get("kind"), raw.get("author"), raw.get("device")
    if not isinstance(record_id, str) or not ID.fullmatch(record_id):
        raise Refusal("A record's id must be a UUID of version 7, in small letters.")
    if not isinstance(kind, str) or (kind not in KINDS and not _plain(kind, 40)):
        raise Refusal("A record must have a kind.")
    if not isinstance(author, str) or (author != sender and not _plain(author, 60)):
        raise Refusal("A record must have an author.")
    if not isinstance(device, str) or not DEVICE.fullmatch(device):
        raise Refusal("A record's device must be 8 letters or digits.")
    values, marks, latest = (_read_writing if "values" in raw else _read_fields)(raw, sender, revision)
    seen, held = _read_seen(raw.get("seen")), raw.get("held") is True
    return Change(record_id, kind, author, device, values, marks, latest, seen, revision, held)


def said_id(raw: Any) -> str | None:
    """The id that a change of whatever shape says it has."""
    said = raw.get("id") if isinstance(raw, dict) else None
    return said if isinstance(said, str) and ID.fullmatch(said) else None


def _read_seen(raw: Any) -> int | None:
    if raw is None:
        return None
    if isinstance(raw, bool) or not isinstance(raw, int) or not 0 <= raw < 2**53:
        raise Refusal("What a change has seen must be a revision.")
    return raw


def _read_writing(raw: Mapping[str, Any], sender: str, revision: int) -> Written:
    """Values that were written at once: they share a stamp, and `was` names what some of them replaced."""
    values, replaced = _named(raw["values"]), {} if raw.get("was") is None else raw["was"]
    stamp = _checked(raw.get("stamp"), "The change")
    marks: dict[str, Mark] = dict.fromkeys(values, (stamp, None, sender, revision))
    if not isinstance(replaced, dict) or not replaced.keys() <= values.keys():
        raise Refusal("What a change replaced must be named by its fields.")
    for name, was in replaced.items():
        marks[name] = (stamp, _checked(was, f"The field {name}"), sender, revision)
    return values, marks, stamp


def _read_fields(raw: Mapping[str, Any], sender: str, revision: int) -> Written:
    """Fields each with a stamp of its own, as older clients send all, and newer ones what they bring back."""
    fields = _named(raw.get("fields"))
    marks = {name: _read_mark(name, field, sender, revision) for name, field in fields.items()}
    values = {name: field["value"] for name, field in fields.items()}
    return values, marks, max(stamp for stamp, *_ in marks.values())


def _read_mark(name: str, raw: Any, sender: str, revision: int) -> Mark:
    if not isinstance(raw, dict) or "value" not in raw:
        raise Refusal(f"The field {name!a} must be an object with a value and a stamp.")
    was = raw.get("was")
    return (
        _checked(raw.get("stamp"), f"The field {name}"),
        None if was is None else _checked(was, f"The field {name}"),
        sender,
        revision,
    )


def _named(fields: Any) -> dict[str, Any]:
    if not isinstance(fields, dict) or not fields or len(fields) > FIELDS_LIMIT:
        raise Refusal(f"A change must have 1 to {FIELDS_LIMIT} fields.")
    # Newer clients may know more of them; of those that we know nothing need be asked.
    for name in fields.keys() - KNOWN_NAMES:
        if not _plain(name, 60):
            raise Refusal(f"The field {name[:60]!a} must have a short and plain name.")
    return fields


def _checked(stamp: Any, where: str) -> str:
    try:
        return checked_stamp(stamp)
    except BadStamp as bad:
        raise Refusal(f"{where}: {bad}.") from None


def check_plain(values: Mapping[str, Any]) -> None:
    """Refusal where a value is none that could be stored, whatever it stands for.

    The checker of a known field takes no such value; this is for fields that nobody knows, and for better words.
    """
    for name, value in values.items():
        _check_value(name, value)


def _check_value(name: str, value: Any) -> None:
    if isinstance(value, dict | list):
        raise Refusal(f"The field {name} must be a plain value.")
    try:
        size = len(value if isinstance(value, str) else canonical(value))
    except ValueError:
        raise Refusal(f"The field {name} holds a value that cannot be stored.") from None
    if size > VALUE_LIMIT:
        raise Refusal(f"The field {name} is longer than {VALUE_LIMIT} characters.")
    if isinstance(value, str) and UNSTORABLE.search(value):
        raise Refusal(f"The field {name} holds a value that cannot be stored.")


def _plain(text: str, limit: int) -> bool:
    return 0 < len(text) <= limit and text.isprintable() and text.isascii()
