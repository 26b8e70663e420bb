"""One round trip: the changes are merged, then the page above the cursor is read."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ..access import Who, still_here
from ..derived import raise_revision
from ..noting import note
from ..recomputing import ask_for, asked_for
from ..watched_nurseries import ask_about_nurseries, is_nursery_asked_for
from ..watched_water import ask_about_water, is_water_asked_for
from .bringing import attributing
from .change import Change, Refusal, Verdict, read_change, said_id
from .history import read_history, write_history
from .judgement import Bench, judge
from .merging import Held, merge_change
from .page import PAGE_ROWS, Page, page_above
from .stored import read_stored, write_stored

LEAN_SCHEMA = 2

Present = Callable[[sa.Connection, Who], Who]
"""Finds who it is by now; raises where he may not write any more."""


@dataclass(frozen=True)
class Push:
    """What a device sent."""

    changes: Sequence[Any]
    cursor: int
    schema: int
    brought_back: bool
    """The device last agreed with another epoch of this database and brings back what it holds."""

    @property
    def reads_lean(self) -> bool:
        """Whether the device understands an answer that leaves out what goes without saying."""
        return self.schema >= LEAN_SCHEMA


@dataclass(frozen=True)
class Agreement:
    """The verdicts in the order of the changes, the page, and whether forecasts are being made anew."""

    verdicts: list[Verdict]
    page: Page
    recomputing: bool


def agree(
    db: sa.Connection,
    who: Who,
    push: Push,
    now: datetime,
    page_rows: int = PAGE_ROWS,
    present: Present = still_here,
) -> Agreement:
    """Judge and merge the changes, then read what is above the cursor.

    `present` is another where somebody writes who is not signed in, by a link to one duty.
    """
    verdicts = _take(db, who, push, now, present) if push.changes else []
    page = page_above(db, who.household_id, push.cursor, page_rows, push.reads_lean)
    waiting = (
        asked_for(db, who.household_id)
        or is_water_asked_for(db, who.household_id, now)
        or is_nursery_asked_for(db, who.household_id, now)
    )
    return Agreement(verdicts, page, waiting)


def _take(db: sa.Connection, who: Who, push: Push, now: datetime, present: Present) -> list[Verdict]:
    revision = raise_revision(db, who.household_id, len(push.changes))
    # The role may have changed since the request came in; now the household is ours until the commit.
    role = present(db, who).role
    bench = Bench(who.person_id, role, push.schema, push.brought_back, now)
    # Every change has a revision of its own, and a record that of the last change which it took.
    read = [_read(raw, who.person_id, revision + number) for number, raw in enumerate(push.changes, start=1)]
    if push.brought_back:
        attribute = attributing(db, who)
        read = [attribute(change) if isinstance(change, Change) else change for change in read]
    held = _held(db, who.household_id, [change for change in read if isinstance(change, Change)])
    verdicts = [_judge_and_merge(change, held, bench) for change in read]
    _keep(db, who.household_id, held, revision, now)
    return verdicts


def _read(raw: Any, sender: str, revision: int) -> Change | Verdict:
    try:
        return read_change(raw, sender, revision)
    except Refusal as refusal:
        return Verdict(said_id(raw), "refused", str(refusal))


def _held(db: sa.Connection, household_id: str, changes: Sequence[Change]) -> Held:
    records = read_stored(db, household_id, (change.id for change in changes))
    # A look is judged by its brood, which it may name anew or have named before.
    named = {change.about for change in changes} | {record.value("about") for record in records.values()}
    broods = read_stored(db, household_id, (about for about in named if about and about not in records))
    # Only what is there can have a history.
    met = [change for change in changes if change.id in records]
    return Held(records | broods, read_history(db, household_id, met))


def _judge_and_merge(change: Change | Verdict, held: Held, bench: Bench) -> Verdict:
    if isinstance(change, Verdict):
        return change
    try:
        verdict = judge(change, held.records, bench)
    except Refusal as refusal:
        return Verdict(change.id, "refused", str(refusal))
    if verdict.verdict in ("taken", "later") and len(verdict.fields) < len(change.values):
        merge_change(held, change, verdict.fields, bench.person_id)
    return verdict


def _keep(db: sa.Connection, household_id: str, held: Held, revision: int, now: datetime) -> None:
    touched = [record for record in held.records.values() if record.revision > revision]
    write_stored(db, household_id, touched)
    write_history(db, household_id, held.lost, {record.id: record.revision for record in touched})
    note(db, household_id, touched)
    left = _left(held)
    ask_for(db, household_id, touched, left, now)
    ask_about_water(db, household_id, touched, now)
    ask_about_nurseries(db, household_id, touched, left, now)


def _left(held: Held) -> set[str]:
    """What records belonged to before they were moved."""
    return {entry.field.value for entry in held.lost if entry.name == "about" and entry.field.value}
