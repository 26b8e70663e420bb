"""Restores in the middle of everything: phones write, lose answers and come late, and the server is set back again."""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import Any

import pytest
import sqlalchemy as sa

from holdwatch.records.instants import from_milliseconds, instant_text
from holdwatch.records.kinds import SCHEMA_NUMBER
from holdwatch.records.merge import canonical
from holdwatch.services.access import Who
from holdwatch.services.backup import back_up
from holdwatch.services.identity import is_earlier, new_identity
from holdwatch.services.restoring import restore
from holdwatch.services.sync import Push, agree
from holdwatch.store import tables
from holdwatch.store.database import open_database, reading, writing
from holdwatch.store.migrate import migrate
from sync.client_phone import ClientPhone, Node, running_node
from sync.household import Household, World
from sync.lasting import LastingPhone

PROOF = bool(os.environ.get("HOLDWATCH_PROOF"))
HISTORIES = 1_000 if PROOF else 12
STEPS = 60
PAGE_ROWS = 4
ROLES = ("owner", "keeper", "helper", "helper")
Write = tuple[str, str, str]
"""A record, one of its fields, and the canonical value, which nothing else has."""


@pytest.fixture(scope="module")
def node() -> Iterator[Node]:
    with running_node() as node:
        yield node


class Story:
    """One household from its founding until all copies have come to rest."""

    def __init__(self, folder: Path, empty: Path, node: Node, seed: int) -> None:
        self.random, self.world, self.folder = Random(seed), World(), folder
        self.database = folder / "holdwatch.sqlite3"
        shutil.copy(empty, self.database)
        self.url = f"sqlite:///{self.database}"
        self.open()
        household = Household(self.engine, self.world)
        self.people = [household.move_in(role, f"phone00{number}") for number, role in enumerate(ROLES)]
        self.phones: list[Any] = [self._phone(node, number, who) for number, who in enumerate(self.people)]
        self.copies: list[Path] = []
        self.late: list[tuple[int, int, dict[str, Any]]] = []
        self.numbers = 0
        self.must_be_there: set[Write] = set()

    def _phone(self, node: Node, number: int, who: Who) -> Any:
        if number % 2:
            return LastingPhone(self.world, f"phone00{number}", who.person_id)
        return ClientPhone(node, self.world, who)

    def open(self) -> None:
        """Begin to serve."""
        self.engine = open_database(self.url)
        with writing(self.engine) as db:
            # Whoever has to sign in anew does so at once: of that other tests tell.
            db.execute(sa.update(tables.device_session).values(revoked_at=None))
        self.identity = migrate(self.engine, new_identity)

    def step(self) -> None:
        """Something happens."""
        self.world.now_ms += self.random.randrange(1, 90_000)
        acts = {self.writes: 6, self.corrects: 6, self.takes_away: 1, self.asks: 10, self.agrees: 3, self.copied: 1}
        acts |= {self.set_back: 2 if self.copies else 0, self.closes: 1, self.hears_late: 2}
        (act,) = self.random.choices(list(acts), list(acts.values()))
        act(self.random.randrange(len(self.phones)))

    def writes(self, at: int) -> None:
        note = self._fresh()
        record = self.phones[at].write("look", {"note": note})
        self.must_be_there.add((record, "note", canonical(note)))

    def corrects(self, at: int) -> None:
        record = self._some_record(at)
        if record:
            note = self._fresh()
            self.phones[at].edit(record, {"note": note})
            self.must_be_there.add((record, "note", canonical(note)))

    def takes_away(self, at: int) -> None:
        record = self._some_record(at)
        if record and ROLES[at] != "helper":
            self.phones[at].edit(record, {"gone": self.random.random() < 0.7})

    def asks(self, at: int) -> None:
        """One question, whose answer may be lost, or come late and again."""
        phone = self.phones[at]
        batch, request = phone.request(self.random.random() < 0.2, self.random.randrange(1, 6))
        self.late.append((at, batch, self._answer(self.people[at], request)))
        if self.random.random() < 0.8:
            phone.take(*self.late[-1][1:])

    def hears_late(self, _at: int) -> None:
        """An answer comes that was lost, or that has come already."""
        if self.late:
            at, batch, answer = self.random.choice(self.late[-20:])
            self.phones[at].take(batch, answer)

    def agrees(self, at: int) -> None:
        """Until there is nothing to ask."""
        idle = 0
        for _ in range(300):
            batch, request = self.phones[at].request(False, 50)
            answer = self._answer(self.people[at], request)
            self.phones[at].take(batch, answer)
            idle = 0 if request["changes"] or answer["more"] else idle + 1
            if idle == 3:
                return
        raise AssertionError("phone and server did not come to agree")

    def closes(self, at: int) -> None:
        self.phones[at].restart()

    def copied(self, _at: int) -> None:
        self.copies.append(self.folder / f"copy-{len(self.copies)}")
        back_up(self.url, self.copies[-1])

    def set_back(self, _at: int) -> None:
        """To any of the copies, with what stood there at hand or lost."""
        copy = self.random.choice(self.copies)
        self.engine.dispose()
        if self.random.random() < 0.5:
            self.database.unlink()
            held = self._held(copy)
            self.must_be_there = {write for write in self.must_be_there if write in held}
        restore(self.url, copy, from_milliseconds(self.world.now_ms))
        for old in self.folder.glob("*.before-*"):
            old.unlink()
        self.open()

    def comes_to_rest(self) -> None:
        """All phones agree, each until it has seen what the last one sent."""
        for _ in range(3):
            for at in range(len(self.phones)):
                self.world.now_ms += 1000
                self.agrees(at)

    def check(self) -> None:
        """All copies are equal, and nothing is missing that can be there."""
        theirs = {record: row["fields"] for record, row in self._rows(self.engine).items()}
        for phone in self.phones:
            mine = phone.hold()
            assert phone.attention() == []
            assert {row["waiting"] for row in mine.values()} <= {0}
            assert {record: row["fields"] for record, row in mine.items()} == theirs
        assert self.must_be_there - self._standing(theirs) - self._past(self.engine) == set()

    def _fresh(self) -> str:
        self.numbers += 1
        return f"note {self.numbers}"

    def _some_record(self, at: int) -> str | None:
        records = sorted(self.phones[at].hold())
        return self.random.choice(records) if records else None

    def _answer(self, who: Who, request: dict[str, Any]) -> dict[str, Any]:
        asked = json.loads(json.dumps(request))
        brings_back = is_earlier(self.identity, asked["epoch"])
        push, now = Push(asked["changes"], asked["cursor"], 1, brings_back), from_milliseconds(self.world.now_ms)
        with writing(self.engine) if push.changes else reading(self.engine) as db:
            agreement = agree(db, who, push, now, PAGE_ROWS)
        verdicts = [{**verdict._asdict(), "fields": list(verdict.fields)} for verdict in agreement.verdicts]
        head = {"database": "d", "epoch": self.identity.epoch, "schema": SCHEMA_NUMBER, "recomputing": False}
        page = vars(agreement.page)
        return json.loads(json.dumps({**page, **head, "now": instant_text(now), "verdicts": verdicts}))

    def _rows(self, engine: sa.Engine) -> dict[str, dict[str, Any]]:
        everything = Push([], 0, 1, False), from_milliseconds(self.world.now_ms), 10**6
        with reading(engine) as db:
            rows = agree(db, self.people[0], *everything).page.rows
        return {row["id"]: row for row in json.loads(json.dumps(rows))}

    @staticmethod
    def _standing(records: dict[str, dict[str, Any]]) -> set[Write]:
        written = ((record, name, field) for record, fields in records.items() for name, field in fields.items())
        return {(record, name, canonical(field["value"])) for record, name, field in written}

    def _past(self, engine: sa.Engine) -> set[Write]:
        with reading(engine) as db:
            return {(row.record_id, row.field, row.value) for row in db.execute(sa.select(tables.history))}

    def _held(self, copy: Path) -> set[Write]:
        """What the copy holds, and what any phone shows."""
        engine = open_database(f"sqlite:///{copy}")
        held = self._past(engine) | self._standing({one: row["fields"] for one, row in self._rows(engine).items()})
        engine.dispose()
        for phone in self.phones:
            held |= self._standing({record: row["fields"] for record, row in phone.hold().items()})
        return held


@pytest.mark.timeout(24 * 3600 if PROOF else 300)
def test_whatever_happens_around_restores_all_copies_end_equal_and_nothing_is_missing(
    tmp_path: Path, migrated_database: Path, node: Node
):
    for seed in range(HISTORIES):
        folder = tmp_path / str(seed)
        folder.mkdir()
        story = Story(folder, migrated_database, node, seed)
        print(f"seed {seed}")
        for _ in range(STEPS):
            story.step()
        story.comes_to_rest()
        story.check()
        story.engine.dispose()
        shutil.rmtree(folder)
