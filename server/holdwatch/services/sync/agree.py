"""One round trip: the changes are merged, then the page above the cursor is read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ...store import tables
from ..access import Who, still_here
from ..derived import raise_revision
from ..recomputing import ask_for, asked_for
from .change import Change, Refusal, Verdict, read_change
from .judgement import Bench, judge
from .page import Page, page_above
from .stored import Overruled, Stored, merge_change, read_history, read_stored, write_history, write_stored


@dataclass(frozen=True)
class Push:
    """What a device sent."""

    changes: Sequence[Any]
    cursor: int
    schema: int
    brought_back: bool
    """The device last agreed with another epoch of this database and brings back what it holds."""


@dataclass(frozen=True)
class Agreement:
    """The verdicts in the order of the changes, the page, and whether forecasts are being made anew."""

    verdicts: list[Verdict]
    page: Page
    recomputing: bool


def agree(db: sa.Connection, who: Who, push: Push, now: datetime) -> Agreement:
    """Judge and merge the changes, then read what is above the cursor."""
    verdicts = _take(db, who, push, now) if push.changes else []
    page = page_above(db, who.household_id, push.cursor)
    return Agreement(verdicts, page, asked_for(db, who.household_id))


def _take(db: sa.Connection, who: Who, push: Push, now: datetime) -> list[Verdict]:
    revision = raise_revision(db, who.household_id, len(push.changes))
    # The role may have changed since the request came in; now the household is ours until the commit.
    role = still_here(db, who).role
    bench = Bench(who.person_id, role, push.schema, push.brought_back, now)
    read = [_read(raw) for raw in push.changes]
    changes = [change for change in read if isinstance(change, Change)]
    known = read_stored(db, who.household_id, _ids(changes))
    seen = read_history(db, who.household_id, (change.id for change in changes))
    lost: list[Overruled] = []
    verdicts = [_judge_and_merge(change, known, bench, seen, lost) for change in read]
    touched = [record for record in known.values() if record.touched]
    for number, record in enumerate(touched, start=revision + 1):
        record.revision = number
    write_stored(db, who.household_id, touched)
    write_history(db, who.household_id, lost, {record.id: record.revision for record in touched})
    ask_for(db, who.household_id, touched, _left(lost), now)
    return verdicts


def _left(lost: Sequence[Overruled]) -> set[str]:
    """What records belonged to before they were moved."""
    return {entry.field.value for entry in lost if entry.name == "about" and entry.field.value}


def _ids(changes: Sequence[Change]) -> list[str]:
    abouts = (change.fields["about"].value for change in changes if "about" in change.fields)
    return [change.id for change in changes] + [about for about in abouts if isinstance(about, str)]


def _read(raw: Any) -> Change | Verdict:
    try:
        return read_change(raw)
    except Refusal as refusal:
        identity = raw.get("id") if isinstance(raw, dict) else None
        return Verdict(identity if isinstance(identity, str) else None, "refused", str(refusal))


def _judge_and_merge(
    change: Change | Verdict,
    known: dict[str, Stored],
    bench: Bench,
    seen: set[tuple[str, str, str]],
    lost: list[Overruled],
) -> Verdict:
    if isinstance(change, Verdict):
        return change
    try:
        verdict = judge(change, known, bench)
    except Refusal as refusal:
        return Verdict(change.id, "refused", str(refusal))
    if verdict.verdict in ("taken", "later") and set(change.fields) - set(verdict.fields):
        record, overruled = merge_change(known.get(change.id), change, verdict.fields, bench.person_id, seen)
        known[change.id] = record
        lost.extend(overruled)
    return verdict
