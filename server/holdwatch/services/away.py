"""Who is not at home, as the records of absences say."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ..records.instants import milliseconds, parse_instant
from ..store.tables import away
from .written import Written


def span_in(record: Written) -> dict[str, Any] | None:
    """What an absence says, as it is kept; None where it names nobody or no time."""
    person, since, until = (record.value(name) for name in ("person", "since", "until"))
    if not (person and since and until):
        return None
    span = {"since_at": since, "until_at": until}
    return {"person_id": person} | {name: milliseconds(parse_instant(text)) for name, text in span.items()}


def is_away(whom: Any, at: datetime) -> sa.ColumnElement[bool]:
    """Whether the person of a row of `whom`, any table with a household and a person, is not at home at that time."""
    gone, then = away.alias(), milliseconds(at)
    his = (gone.c.household_id == whom.c.household_id, gone.c.person_id == whom.c.person_id)
    return sa.exists().where(*his, gone.c.since_at <= then, gone.c.until_at > then)
