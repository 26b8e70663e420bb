"""Two workers at one queue are killed at random instants: no reminder is lost, and none comes twice within its lease.

They are `holdwatch work` as it is, by the clock of this machine, with its lease of two minutes. A run shorter than many
leases would never see one end, so now and then the test plays that the time of the dead has passed: it sets the end of
what the killed had in their hands to this instant, in the database, as if they had been dead for so long. The leases of
the living are never touched. In the long run others end by themselves.
"""

from __future__ import annotations

import os
import re
import sys
import time
import traceback
from collections import defaultdict
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from random import Random

import pytest
import sqlalchemy as sa

from channels.push_endpoint import PushEndpoint
from holdwatch.domain.duties import Duty
from holdwatch.records.instants import milliseconds
from holdwatch.services.duties.kept import renewed, write_kept
from holdwatch.services.duties.working import HANDS
from holdwatch.store import tables
from holdwatch.store.database import reading, writing
from people import Neighbours, settle
from postgresql.crew import PLACES, Crew, wait_until
from postgresql.leases import Lease, has_come, has_taken, leases, let_leases_pass, watch_leases
from services.reminding import deliveries, subscribe

PROOF = bool(os.environ.get("HOLDWATCH_PROOF"))
ROUNDS = 200 if PROOF else 10
DUTIES = 2000
# Push services take their time, so that there is work in hand all along: fewer duties fall due in each of many rounds.
SLOWEST_ANSWER_SECONDS = 0.3 if PROOF else 0.1
LATEST_KILL_SECONDS = 3 * SLOWEST_ANSWER_SECONDS
BEFORE_IT_SENDS = 0.2
BOTH_AT_ONCE = 0.2
TIME_PASSES = 0.5
LAST_SECONDS = 900.0
SEED = 91
Told = tuple[str, str]
"""A duty and the person who is told of it."""


class SlowEndpoint(PushEndpoint):
    """Has taken each message a while before it says so, and is used to senders that vanish."""

    def __init__(self) -> None:
        super().__init__()
        self.random = Random(SEED)
        self.server.handle_error = self._notice

    def _notice(self, *_: object) -> None:
        if not isinstance(sys.exception(), ConnectionError):
            self.faults.append(traceback.format_exc())

    def take(self, path: str, headers: dict[str, str], body: bytes) -> tuple[int, dict[str, str]]:
        """Judge one request, and answer late."""
        answer = super().take(path, headers, body)
        time.sleep(self.random.uniform(0, SLOWEST_ANSWER_SECONDS))
        return answer


@dataclass(frozen=True)
class Arrival:
    """A message as it came in, and the worker whose it was."""

    told: Told
    worker: str
    at: int


@pytest.fixture
def home(lasting_engine, password_hash) -> Neighbours:
    """Two households, of three and of one, by the real clock."""
    watch_leases(lasting_engine)
    with writing(lasting_engine) as db:
        return settle(db, password_hash, datetime.now(UTC))


def lay_down(engine: sa.Engine, home: Neighbours, number: int) -> set[Told]:
    """The duties of this round, half of them in each household, due within a second; who is to be told of what."""
    now, count = datetime.now(UTC), DUTIES // ROUNDS
    due = [_look(f"look:b{number}:{n}", now + timedelta(seconds=n / count)) for n in range(count)]
    ours, theirs = due[::2], due[1::2]
    with writing(engine) as db:
        for opened, its in ((home.owner, ours), (home.stranger, theirs)):
            write_kept(db, opened.who.household_id, [renewed(duty, None, "Europe/Berlin") for duty in its])
    us = [opened.who.person_id for opened in (home.owner, home.keeper, home.helper)]
    them = [home.stranger.who.person_id]
    return {(duty.key, person) for its, people in ((ours, us), (theirs, them)) for duty in its for person in people}


def _look(key: str, at: datetime) -> Duty:
    return Duty(key, "look_tonight", key.split(":")[1], at.date(), at, at, at + timedelta(hours=10))


def wait_at_random(crew: Crew, random: Random, started: list[str]) -> None:
    """Until some instant after these have begun: mostly while they send, now and then while they get ready."""
    begun = has_come if random.random() < BEFORE_IT_SENDS else has_taken
    for name in map(crew.name, started):
        wait_until(lambda name=name: begun(crew.engine, name) or nothing_is_free(crew.engine), f"{name} to begin")
    time.sleep(random.uniform(0, LATEST_KILL_SECONDS))


def all_are_told(engine: sa.Engine) -> bool:
    """Whether nothing is left to be queued or sent."""
    return not _left(engine, sa.true())


def nothing_is_free(engine: sa.Engine) -> bool:
    """Whether all that is left is in the hands of the other worker, or of a dead one."""
    lease = tables.delivery.c.lease_until
    return not _left(engine, sa.or_(lease.is_(None), lease <= milliseconds(datetime.now(UTC))))


def _left(engine: sa.Engine, which: sa.ColumnElement[bool]) -> bool:
    unqueued = sa.exists().where(tables.duty.c.queued.is_(False))
    waiting = sa.exists().where(tables.delivery.c.state == "waiting", which)
    with reading(engine) as db:
        return bool(db.scalar(sa.select(sa.or_(unqueued, waiting))))


def arrivals(endpoint: PushEndpoint) -> list[Arrival]:
    """What came to the phones, in order; they are named by their people."""
    assert endpoint.faults == [] and endpoint.strays == []
    workers = [re.fullmatch("mailto:(.+)@example.org", str(one.claims["sub"])) for one in endpoint.received]
    return [
        Arrival((one.message["notification"]["tag"], one.phone), worker[1], int(one.at * 1000))
        for one, worker in zip(endpoint.received, workers, strict=True)
        if worker is not None
    ]


def check_leases(taken: list[Lease], came: list[Arrival]) -> None:
    """No two leases of a delivery at once, a message for each at most, and the next only after the end of the last."""
    arrived = {(one.told, one.worker): one.at for one in came}
    assert len(arrived) == len(came), "one worker sent the same twice"
    assert arrived.keys() <= {(one.told, one.worker) for one in taken}, "sent by one who did not hold it"
    held = defaultdict(list)
    for one in taken:
        held[one.told].append(one)
    for told, its in held.items():
        for earlier, later in pairwise(its):
            assert not earlier.settled and earlier.over_at <= later.taken_at, (told, earlier, later)
            assert arrived.get((told, later.worker), later.taken_at) >= earlier.over_at, (told, earlier, later)
    assert all(its[-1].settled for its in held.values())


@pytest.mark.timeout(7200 if PROOF else 900)
def test_workers_killed_at_random_lose_no_reminder_and_send_none_twice_within_its_lease(
    lasting_engine, home, tmp_path
):
    print(f"seed {SEED}")
    random, engine, expected = Random(SEED), lasting_engine, set()
    with SlowEndpoint() as endpoint, Crew(engine, tmp_path) as crew:
        for opened in (home.owner, home.keeper, home.helper, home.stranger):
            subscribe(engine, opened, endpoint.phone(opened.who.person_id), datetime.now(UTC))
        places = list(PLACES)
        for number in range(ROUNDS):
            # Whoever begins finds something due, for one that found nothing sleeps a while.
            expected |= lay_down(engine, home, number)
            crew.start(*places)
            wait_at_random(crew, random, places)
            is_last, both = number == ROUNDS - 1, random.random() < BOTH_AT_ONCE
            places = list(PLACES) if both or is_last else [random.choice(PLACES)]
            crew.kill(*places)
            if is_last or random.random() < TIME_PASSES:
                let_leases_pass(engine, crew.dead, datetime.now(UTC))
        crew.start(*places)
        wait_until(lambda: all_are_told(engine), "the last reminders to be sent", LAST_SECONDS)
        kills = len(crew.dead)
    came, taken = arrivals(endpoint), leases(engine)
    cut_off = [one for one in taken if not one.settled]
    print(f"{kills} kills, {DUTIES} duties, {len(expected)} reminders, {len(came)} arrivals, "
          f"{len(came) - len(expected)} repeats, {len(cut_off)} leases cut off")  # fmt: skip
    assert {one.told for one in came} == expected
    assert {(row.duty_key, row.person_id): (row.state, row.lease_until) for row in deliveries(engine)} == dict.fromkeys(
        expected, ("sent", None)
    )
    check_leases(taken, came)
    # Only a kill repeats anything, and no more than the killed had in hand.
    assert len(came) > len(expected)
    for worker in {one.worker for one in taken}:
        assert len([one for one in cut_off if one.worker == worker]) <= HANDS
    assert crew.words() == ""
