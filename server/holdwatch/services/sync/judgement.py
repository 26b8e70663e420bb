"""Whether a change may be taken, by its author's role, its clock and its values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property
from typing import Any

from ...records.checkers import faults
from ...records.instants import milliseconds, parse_instant
from ...records.kinds import KEEPERS_KINDS, KINDS, SCHEMA_NUMBER, unknown_choices, unknown_fields
from ...records.stamps import COUNTER_LIMIT, Stamp
from .change import Change, Refusal, Verdict, check_plain
from .stored import Stored

AHEAD_LIMIT = timedelta(minutes=5)


@dataclass(frozen=True)
class Bench:
    """What a change is judged by."""

    person_id: str
    role: str
    schema: int
    brought_back: bool
    now: datetime

    @cached_property
    def latest(self) -> str:
        """Stamps sort as text, and none that may be taken is greater than this one."""
        return str(Stamp(milliseconds(self.now + AHEAD_LIMIT), COUNTER_LIMIT, "zzzzzzzz"))


def judge(change: Change, stored: Mapping[str, Stored], bench: Bench) -> Verdict:
    """The verdict; Refusal with the reason where nothing of the change may be taken."""
    if change.kind not in KINDS:
        check_plain(change.values)
        return _unknown_kind(change, bench)
    if change.latest > bench.latest:
        return Verdict(change.id, "clock", "This device's clock is ahead; the change will be sent again.")
    _check_identity(change, stored.get(change.id), bench)
    _check_role(change, bench)
    unknown = unknown_fields(change.kind, change.values)
    if unknown and bench.schema <= SCHEMA_NUMBER:
        check_plain(change.values)
        raise Refusal(f"A {change.kind} has no field {', '.join(unknown)}.")
    if bench.schema > SCHEMA_NUMBER:
        # A newer client may also know more words for a field that we have.
        unknown = unknown + unknown_choices(change.kind, change.values)
    if not unknown:
        _check_values(change, stored)
        return Verdict(change.id, "taken")
    check_plain(change.values)
    known = {name: value for name, value in change.values.items() if name not in unknown}
    _check_values(change._replace(values=known), stored)
    return Verdict(change.id, "later", "This server does not know these fields yet.", tuple(unknown))


def _unknown_kind(change: Change, bench: Bench) -> Verdict:
    if bench.schema > SCHEMA_NUMBER:
        names = tuple(sorted(change.values))
        return Verdict(change.id, "later", f"This server does not know a {change.kind} yet.", names)
    raise Refusal(f"There are no records of the kind {change.kind!r}.")


def _check_identity(change: Change, known: Stored | None, bench: Bench) -> None:
    if known is None:
        if change.author != bench.person_id and not bench.brought_back:
            raise Refusal("A new record must name as its author the person who is signed in.")
        return
    if (known.kind, known.author, known.device) != (change.kind, change.author, change.device):
        raise Refusal("A record's kind, author and device are fixed; this id belongs to another record.")


def _check_role(change: Change, bench: Bench) -> None:
    if bench.role != "helper":
        return
    # What is brought back was judged when its author wrote it; what was written since is a writing like any other.
    of_another = bench.brought_back and change.held and change.author != bench.person_id
    if change.kind in KEEPERS_KINDS and not of_another:
        raise Refusal(f"A helper cannot write a {change.kind}; ask the owner or a keeper.")
    if "gone" in change.values:
        raise Refusal("A helper cannot take records away; ask the owner or a keeper.")


def _check_values(change: Change, stored: Mapping[str, Stored]) -> None:
    found = faults(change.kind, change.values)
    if found:
        check_plain(change.values)
        raise Refusal("; ".join(found) + ".")
    if change.kind == "look":
        _check_began(change, stored)


def _check_began(change: Change, stored: Mapping[str, Stored]) -> None:
    """A look cannot lie before its brood began; a brood that is not known yet is no fault."""
    if "at" not in change.values and "about" not in change.values:
        return
    known = stored.get(change.id)
    brood = stored.get(_becomes(change, known, "about") or "")
    began = brood.value("not_before") if brood else None
    at = _becomes(change, known, "at")
    if at and began and parse_instant(at) < parse_instant(began):
        raise Refusal(
            f"at: this look lies before the brood began ({began}). Correct its time, or the brood's beginning."
        )


def _becomes(change: Change, known: Stored | None, name: str) -> Any:
    """The field's value if the change is taken."""
    return change.values[name] if name in change.values else known and known.value(name)
