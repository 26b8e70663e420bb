"""One change as a device sent it, and the verdict on it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from ...records.kinds import ID, UNSTORABLE
from ...records.merge import Stamped, canonical
from ...records.stamps import DEVICE, BadStamp, checked_stamp

FIELDS_LIMIT = 40
VALUE_LIMIT = 16_384


class Refusal(Exception):
    """Why a change cannot be taken, in words that a person can act on."""


class Change(NamedTuple):
    """A record's identity, fixed for ever, and the fields that were written."""

    id: str
    kind: str
    author: str
    device: str
    fields: Mapping[str, Stamped]
    seen: int | None
    """The record's revision that its writer had before him; None if he knew of none."""
    revision: int
    """The household's revision that this change raises it to."""
    held: bool
    """Whether the server had taken all of it before it was set back, so that it is no new writing."""

    @property
    def about(self) -> str | None:
        """The id that the change says the record is about, if it says so."""
        said = self.fields["about"].value if "about" in self.fields else None
        return said if isinstance(said, str) and ID.fullmatch(said) else None


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
    if not isinstance(raw.get("id"), str) or not ID.fullmatch(raw["id"]):
        raise Refusal("A record's id must be a UUID of version 7, in small letters.")
    if not isinstance(raw.get("kind"), str) or not _plain(raw["kind"], 40):
        raise Refusal("A record must have a kind.")
    if not isinstance(raw.get("author"), str) or not _plain(raw["author"], 60):
        raise Refusal("A record must have an author.")
    if not isinstance(raw.get("device"), str) or not DEVICE.fullmatch(raw["device"]):
        raise Refusal("A record's device must be 8 letters or digits.")
    identity = raw["id"], raw["kind"], raw["author"], raw["device"]
    fields = _read_fields(raw.get("fields"), raw.get("stamp"), sender, revision)
    return Change(*identity, fields, _read_seen(raw.get("seen")), revision, raw.get("held") is True)


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


def _read_fields(raw: Any, stamp: Any, sender: str, revision: int) -> dict[str, Stamped]:
    if not isinstance(raw, dict) or not raw or len(raw) > FIELDS_LIMIT:
        raise Refusal(f"A change must have 1 to {FIELDS_LIMIT} fields.")
    return {name: _read_field(name, field, stamp, sender, revision) for name, field in raw.items()}


def _read_field(name: str, raw: Any, shared: Any, sender: str, revision: int) -> Stamped:
    if not _plain(name, 60) or not isinstance(raw, dict) or "value" not in raw:
        raise Refusal(f"The field {name[:60]!a} must be an object with a value and a stamp.")
    try:
        stamp = checked_stamp(raw.get("stamp", shared))
        was = None if raw.get("was") is None else checked_stamp(raw["was"])
    except BadStamp as bad:
        raise Refusal(f"The field {name}: {bad}.") from None
    value = raw["value"]
    if value is not None and value is not True and value is not False:
        _check_value(name, value)
    return Stamped(value, stamp, was, sender, revision)


def _check_value(name: str, value: Any) -> None:
    if type(value) is str and len(value) <= VALUE_LIMIT and value.isprintable():
        return
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
