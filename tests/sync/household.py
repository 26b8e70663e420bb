"""A household on the real server's services, and the wire between it and its phones."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any
from uuid import uuid4

import sqlalchemy as sa

from holdwatch.records.instants import from_milliseconds, instant_text
from holdwatch.records.kinds import SCHEMA_NUMBER
from holdwatch.records.merge import canonical
from holdwatch.services.access import Who
from holdwatch.services.sync import Push, agree
from holdwatch.store import tables
from holdwatch.store.database import reading, writing
from sync.ledger import Ledger, Place, Taken
from sync.pushing import NOW_MS

PAGE_ROWS = 5
BEHIND = timedelta(minutes=10)


@dataclass
class World:
    """True time, which stands still unless it is moved."""

    now_ms: int = NOW_MS


@dataclass(frozen=True)
class Answer:
    """An answer on the wire, and which writes stand behind its rows: whoever takes it knows of these."""

    body: dict[str, Any]
    tells_of: dict[Place, frozenset[Any]]


@dataclass
class Household:
    """The server's side."""

    engine: sa.Engine
    world: World
    ledger: Ledger = field(default_factory=Ledger)
    household_id: str = field(default_factory=lambda: str(uuid4()))
    clock_behind: bool = False

    def __post_init__(self) -> None:
        row = {"household_id": self.household_id, "name": "Reedmarsh Lane", "created_at": NOW_MS}
        with writing(self.engine) as db:
            db.execute(sa.insert(tables.household).values(row))

    def move_in(self, role: str, device: str) -> Who:
        """Add a person with a phone."""
        who = Who(self.household_id, str(uuid4()), role, str(uuid4()), device)
        person = {"name": role, "role": role, "login": who.person_id, "password_hash": ""}
        session = {"session_id": who.session_id, "secret_hash": "", "device": device, "label": "", "seen_at": NOW_MS}
        with writing(self.engine) as db:
            for table, row in ((tables.person, person), (tables.device_session, session)):
                key = {"household_id": self.household_id, "person_id": who.person_id, "created_at": NOW_MS}
                db.execute(sa.insert(table).values({**key, **row}))
        return who

    def give_role(self, who: Who, role: str) -> None:
        """From now on the person has that role."""
        person = tables.person
        mine = (person.c.household_id == self.household_id, person.c.person_id == who.person_id)
        with writing(self.engine) as db:
            db.execute(sa.update(person).where(*mine).values(role=role))

    def answer(self, who: Who, request: dict[str, Any]) -> Answer:
        """What the server does with a request, and what it says."""
        asked = json.loads(json.dumps(request))
        now = from_milliseconds(self.world.now_ms) - (BEHIND if self.clock_behind else timedelta())
        push = Push(asked["changes"], asked["cursor"], asked["schema"], False)
        with writing(self.engine) if push.changes else reading(self.engine) as db:
            agreement = agree(db, who, push, now, PAGE_ROWS)
        verdicts = [{**verdict._asdict(), "fields": list(verdict.fields)} for verdict in agreement.verdicts]
        for change, verdict in zip(asked["changes"], verdicts, strict=True):
            self.ledger.judge(change, verdict["verdict"], who.person_id)
        page, head = (
            vars(agreement.page),
            {"database": "d", "epoch": "e", "schema": SCHEMA_NUMBER, "recomputing": False},
        )
        body = json.loads(json.dumps({**page, **head, "now": instant_text(now), "verdicts": verdicts}))
        return Answer(body, self._behind(body["rows"]))

    def rows(self) -> dict[str, dict[str, Any]]:
        """All records, by id."""
        with reading(self.engine) as db:
            page = agree(db, Who(self.household_id, "", "owner", "", ""), Push([], 0, 1, False), _TIMELESS, 10**6).page
        return {row["id"]: row for row in json.loads(json.dumps(page.rows))}

    def history(self) -> list[Taken]:
        """All that was overruled."""
        table = tables.history
        with reading(self.engine) as db:
            found = db.execute(sa.select(table).where(table.c.household_id == self.household_id)).all()
        return [Taken((row.record_id, row.field), row.stamp, row.value, row.author) for row in found]

    def current(self) -> set[tuple[Place, str, str]]:
        """(place, stamp, value) of what stands."""
        return {
            ((record, name), written["stamp"], canonical(written["value"]))
            for record, row in self.rows().items()
            for name, written in row["fields"].items()
        }

    def _behind(self, rows: list[dict[str, Any]]) -> dict[Place, frozenset[Any]]:
        places = [(row["id"], name) for row in rows for name in row.get("values") or row["fields"]]
        return {place: frozenset(self.ledger.arrived[place]) for place in places}


_TIMELESS = from_milliseconds(NOW_MS)
