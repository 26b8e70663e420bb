"""The server is killed at random instants while phones push: every change that it said to have taken is there."""

from __future__ import annotations

import os
import signal
import threading
import time
from datetime import UTC, datetime
from random import Random

import pytest
import sqlalchemy as sa

from holdwatch.records.merge import canonical
from holdwatch.services.access import Opened
from holdwatch.store import tables
from holdwatch.store.database import reading, writing
from people import settle
from sync.pushing import added, edited, history, rows
from sync.serving import Unreachable, Wire, free_port, running_server, stamp_now

PROOF = bool(os.environ.get("HOLDWATCH_PROOF"))
ROUNDS = 200 if PROOF else 4
SEED = 77


@pytest.fixture
def household(engine, password_hash):
    """People whose sessions began by the real clock."""
    with writing(engine) as db:
        return settle(db, password_hash, datetime.now(UTC))


class Pusher(threading.Thread):
    """A phone that pushes as fast as it can until the server goes away, and then repeats what was not answered."""

    def __init__(self, wire: Wire, device: str, seed: int) -> None:
        super().__init__(name=device)
        self.wire, self.device, self.random = wire, device, Random(seed)
        self.made: list[dict] = []
        self.unanswered: list[dict] = []
        self.taken: list[dict] = []
        self.number = 0

    def run(self) -> None:
        """Push until the server goes away."""
        try:
            while True:
                self.unanswered = self.unanswered or self._batch()
                answer = self.wire.sync(self.unanswered)
                assert {verdict["verdict"] for verdict in answer["verdicts"]} == {"taken"}, answer["verdicts"]
                self.taken += self.unanswered
                self.unanswered = []
        except Unreachable:
            return

    def _batch(self) -> list[dict]:
        batch = [self._record() for _ in range(self.random.randrange(1, 30))]
        for record in self.random.sample(self.made, min(3, len(self.made))):
            self.number += 1
            batch.append(edited(record, stamp_now(self.number, self.device), None, note=f"edit {self.number}"))
        self.made += batch[:2]
        return batch

    def _record(self) -> dict:
        self.number += 1
        return added(self.wire.opened.who, "look", stamp_now(self.number, self.device), note=f"look {self.number}")


def what_the_server_holds(engine, who):
    """(record, field, stamp, value) of all that stands or was overruled."""
    standing = {
        (record, name, field["stamp"], canonical(field["value"]))
        for record, row in rows(engine, who).items()
        for name, field in row["fields"].items()
    }
    with reading(engine) as db:
        past = db.execute(sa.select(tables.history).filter_by(household_id=who.household_id)).all()
    return standing | {(row.record_id, row.field, row.stamp, row.value) for row in past}


def writes(changes):
    return {(c["id"], name, f["stamp"], canonical(f["value"])) for c in changes for name, f in c["fields"].items()}


@pytest.mark.timeout(3600 if PROOF else 300)
def test_what_was_taken_outlives_a_server_that_is_killed_and_what_was_not_answered_is_sent_again(
    engine, household, tmp_path
):
    print(f"seed {SEED}")
    random, port = Random(SEED), free_port()
    people: list[tuple[Opened, str]] = [(household.owner, "aaaaaaaa"), (household.keeper, "bbbbbbbb")]
    taken: set = set()
    unanswered: dict[str, list] = {}
    for number in range(ROUNDS):
        with running_server(engine, port, tmp_path / "server.log") as server:
            pushers = [Pusher(Wire(port, opened), device, number) for opened, device in people]
            for pusher in pushers:
                pusher.unanswered = unanswered.get(pusher.device, [])
                pusher.start()
            time.sleep(random.uniform(0.05, 1.0))
            os.kill(server.pid, signal.SIGKILL)
            for pusher in pushers:
                pusher.join()
                taken |= writes(pusher.taken)
                unanswered[pusher.device] = pusher.unanswered
        held = what_the_server_holds(engine, household.owner.who)
        assert taken <= held
        # Of what was not answered, all of a push has arrived or nothing of it.
        for changes in unanswered.values():
            assert writes(changes) <= held or not writes(changes) & held
    assert len(taken) > 20 * ROUNDS
    assert what_the_server_holds(engine, household.owner.who) - taken <= writes(sum(unanswered.values(), []))


def test_a_question_or_an_answer_that_is_cut_at_any_byte_does_no_harm(engine, household, tmp_path):
    print(f"seed {SEED}")
    random, wire = Random(SEED), Wire(free_port(), household.owner)
    batches = [
        [added(wire.opened.who, "look", stamp_now(n), note=f"look {batch} {n}") for n in range(500)]
        for batch in range(20)
    ]
    with running_server(engine, wire.port, tmp_path / "server.log"):
        for batch in batches:
            wire.cut(batch, 2**50, sends=random.random())
            wire.cut(batch, 2**50, reads=random.random())
            assert {verdict["verdict"] for verdict in wire.sync(batch)["verdicts"]} == {"taken"}
        held: dict = {}
        cursor, more = 0, True
        while more:
            wire.cut([], cursor, reads=random.random())
            answer = wire.sync([], cursor)
            assert not held.keys() & {row["id"] for row in answer["rows"]}
            held |= {row["id"]: row for row in answer["rows"]}
            cursor, more = answer["cursor"], answer["more"]
    assert set(held) == {change["id"] for batch in batches for change in batch}
    assert not any(history(engine, record) for record in list(held)[:50])
