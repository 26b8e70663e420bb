"""Changes as a phone would send them, pushed below the web."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from itertools import count
from typing import Any

import sqlalchemy as sa

from holdwatch.records.ids import record_id
from holdwatch.records.instants import milliseconds
from holdwatch.records.stamps import Stamp
from holdwatch.services.access import Who
from holdwatch.services.sync import Agreement, Push, agree
from holdwatch.store import tables
from holdwatch.store.database import reading, writing
from people import START

NOW_MS = milliseconds(START)
HOUR_MS = 3_600_000
_NUMBERS: Iterator[int] = count(1)


def new_id() -> str:
    """An id that no other record of the test run has."""
    return record_id(NOW_MS, next(_NUMBERS))


def stamp(ms: int = 0, counter: int = 0, device: str = "ab12cd34") -> str:
    """A stamp so many milliseconds after two hours before START."""
    return str(Stamp(NOW_MS - 2 * HOUR_MS + ms, counter, device))


def written(values: dict[str, Any], by: str, was: str | None = None) -> dict[str, Any]:
    """Fields written under the stamp `by`."""
    return {name: {"value": value, "stamp": by, "was": was} for name, value in values.items()}


def added(who: Who, kind: str, by: str | None = None, /, **values: Any) -> dict[str, Any]:
    """A new record of `who`'s."""
    fields = written(values or {"note": "by the left urchin"}, by or stamp())
    return {"id": new_id(), "kind": kind, "author": who.person_id, "device": "ab12cd34", "fields": fields}


def edited(
    record: dict[str, Any], by: str, was: str | None, seen: int | None = None, /, **values: Any
) -> dict[str, Any]:
    """New values for some fields of a record."""
    return {**record, "fields": written(values, by, was), "seen": seen}


def said_once(change: dict[str, Any]) -> dict[str, Any]:
    """The same change as newer clients send it: the stamp of the writing once, and what was replaced by name."""
    (by,) = {field["stamp"] for field in change["fields"].values()}
    was = {name: field["was"] for name, field in change["fields"].items() if field["was"]}
    identity = {name: part for name, part in change.items() if name != "fields"}
    return {**identity, "stamp": by, "values": values(change)} | ({"was": was} if was else {})


def whole_row(row: dict[str, Any]) -> dict[str, Any]:
    """A row as older clients are told it, whichever way it came."""
    if "fields" in row:
        return row
    stamps = dict.fromkeys(row["values"], row["stamp"]) | row.get("stamps", {})
    fields = {name: {"value": value, "stamp": stamps[name]} for name, value in row["values"].items()}
    identity = {name: part for name, part in row.items() if name not in ("values", "stamp", "stamps")}
    return {"concurrent": [], **identity, "fields": fields}


def push(engine: sa.Engine, who: Who, changes: Sequence[Any], now: Any = START, **more: Any) -> Agreement:
    """Push in one transaction."""
    asked = {"cursor": 0, "schema": 1, "brought_back": False, **more}
    with writing(engine) as db:
        return agree(db, who, Push(changes, **asked), now)


def verdicts(engine: sa.Engine, who: Who, *changes: Any, **more: Any) -> list[str]:
    """What became of these changes, in one word each."""
    return [verdict.verdict for verdict in push(engine, who, list(changes), **more).verdicts]


def refusal(engine: sa.Engine, who: Who, change: Any, **more: Any) -> str:
    """The reason for which the change is refused."""
    (verdict,) = push(engine, who, [change], **more).verdicts
    assert verdict.verdict == "refused", verdict
    return verdict.reason or ""


def rows(engine: sa.Engine, who: Who, cursor: int = 0) -> dict[str, dict[str, Any]]:
    """The household's records above the cursor, by id."""
    with reading(engine) as db:
        return {row["id"]: row for row in agree(db, who, Push([], cursor, 1, False), START, 10**6).page.rows}


def values(row: dict[str, Any]) -> dict[str, Any]:
    """The bare values of a row or a change."""
    return {name: field["value"] for name, field in row["fields"].items()}


def history(engine: sa.Engine, record: str) -> list[tuple[str, str, Any, str]]:
    """(field, stamp, value, author) of all that was overruled in a record, by stamp."""
    table = tables.history
    with reading(engine) as db:
        found = db.execute(sa.select(table).where(table.c.record_id == record).order_by(table.c.stamp, table.c.value))
        return [(row.field, row.stamp, json.loads(row.value), row.author) for row in found]


def household_tables(engine: sa.Engine) -> dict[str, list[Any]]:
    """All that sync may write, to see that nothing changed."""
    kept = (tables.record, tables.history, tables.derived, tables.recompute)
    with reading(engine) as db:
        return {table.name: sorted(map(tuple, db.execute(sa.select(table)))) for table in kept}
