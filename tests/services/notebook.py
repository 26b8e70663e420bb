"""Writes records as a phone would, through the sync service, and reads what was derived from them."""

from __future__ import annotations

import itertools
from datetime import datetime, timedelta
from typing import Any

import sqlalchemy as sa

from holdwatch.records.ids import record_id
from holdwatch.records.instants import instant_text, milliseconds
from holdwatch.records.stamps import Stamp
from holdwatch.services.access import Who
from holdwatch.services.derived import derived_body
from holdwatch.services.sync import Push, agree
from holdwatch.store import tables
from holdwatch.store.database import reading, writing

DEVICE = "testdev0"
TANK = {"zone": "Europe/Copenhagen", "lamps_out": "21:30", "lamps_on": "08:30", "set_point_c": 26.5}


class Notebook:
    """One person's records."""

    def __init__(self, engine: sa.Engine, who: Who) -> None:
        self.engine, self.who, self.count = engine, who, itertools.count()
        self.kinds: dict[str, str] = {}
        self.stamps: dict[tuple[str, str], str] = {}

    def write(self, kind: str, now: datetime, **fields: Any) -> str:
        """A new record, pushed at once; its id."""
        # Apart from the ids of `sync.pushing`, beside which a test may write.
        made = record_id(milliseconds(now), 10**6 + next(self.count))
        self.kinds[made] = kind
        self.edit(made, now, **fields)
        return made

    def edit(self, record: str, now: datetime, **fields: Any) -> None:
        """New values of some fields, pushed at once; the change must be taken."""
        stamp = str(Stamp(milliseconds(now), next(self.count), DEVICE))
        sent = {}
        for name, value in fields.items():
            value = instant_text(value) if isinstance(value, datetime) else value
            sent[name] = {"value": value, "stamp": stamp, "was": self.stamps.get((record, name))}
            self.stamps[record, name] = stamp
        identity = {"id": record, "kind": self.kinds[record], "author": self.who.person_id, "device": DEVICE}
        with writing(self.engine) as db:
            agreement = agree(db, self.who, Push([{**identity, "fields": sent}], 0, 1, False), now)
        assert [verdict.verdict for verdict in agreement.verdicts] == ["taken"], agreement.verdicts

    def male(self, now: datetime, **tank: Any) -> str:
        """A tank and a male in it; the male's id."""
        home = self.write("tank", now, name="Hall", company="others", **{**TANK, **tank})
        return self.write("fish", now, about=home, name="Quill", species="pterapogon_kauderni", sex="male")

    def derived(self, kind: str, about: str) -> Any:
        """What came of it."""
        with reading(self.engine) as db:
            return derived_body(db, self.who.household_id, kind, about)


def asked(engine: sa.Engine) -> set[str]:
    """The broods whose forecasts are asked for."""
    with reading(engine) as db:
        return set(db.scalars(sa.select(tables.recompute.c.brood_id)))


def hold(notebook: Notebook, now: datetime, days: float = 18) -> str:
    """A brood whose male was first seen full so many days ago, with a few looks."""
    male = notebook.male(now)
    brood = notebook.write("brood", now, about=male, not_before=now - timedelta(days=days + 1))
    for back in (days, days / 2, 2):
        look = {"light": "daylight", "mouth": "full", "eggs": "orange" if back > 5 else "silver"}
        notebook.write("look", now, about=brood, at=now - timedelta(days=back), **look)
    return brood
