"""Several workers at one queue, workers that are killed, and workers that are too slow."""

from __future__ import annotations

import multiprocessing
import threading
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any

import pytest

from domain.hold import BROOD, local
from holdwatch.channels.message import Address, Message, Outcome
from holdwatch.domain.duties import Duty
from holdwatch.services.duties import WorkDone, work, working
from holdwatch.services.duties.claiming import LEASE, claim
from holdwatch.services.duties.settling import LONGEST_WAIT, settle
from holdwatch.services.duties.working import HANDS
from holdwatch.store.database import open_database, writing
from services.reminding import Recorder, deliveries, keep, states, subscribe

NOW = local(25, 18, 30)
LOOK = Duty("", "look_tonight", BROOD, date(2026, 11, 25), NOW, NOW, local(26, 9))
DUTIES = [replace(LOOK, key=f"look:{BROOD}:{n}") for n in range(20)]
PEOPLE = ("helper", "keeper", "owner")


@pytest.fixture
def home(engine, neighbours):
    """Twenty duties due now, for three people with a phone each."""
    for name in PEOPLE:
        subscribe(engine, getattr(neighbours, name), name, NOW)
    household_id = neighbours.owner.who.household_id
    keep(engine, household_id, *DUTIES)
    return household_id


def each_once() -> list[tuple[str, str]]:
    """What must arrive."""
    return sorted((name, duty.key) for name in PEOPLE for duty in DUTIES)


def test_two_workers_in_threads_send_each_message_once(engine, settings, home):
    channel = Recorder()
    start = threading.Barrier(2)

    def run(name: str) -> None:
        own = open_database(settings.database_url)
        start.wait()
        while work(own, NOW, {"push": channel}, name):
            pass
        own.dispose()

    workers = [threading.Thread(target=run, args=(name,)) for name in ("w1", "w2")]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    assert sorted(channel.sent) == each_once()
    assert states(engine) == ["sent"] * len(each_once())


class Moody(Recorder):
    """A channel that says something new of a phone each time."""

    def send(self, address: Address, message: Message, now: datetime) -> Outcome:
        """Take nothing."""
        with self.lock:
            self.sent.append((address.endpoint, message.duty))
            return Outcome("later", f"answer {len(self.sent)}")


def test_two_workers_that_write_of_the_same_phones_never_wait_for_each_other_for_ever(engine, settings, home):
    channel, engines = Moody(), [open_database(settings.database_url) for _ in range(2)]
    with ThreadPoolExecutor(2) as pool:
        for number in range(20):
            now = NOW + 2 * number * LONGEST_WAIT
            for done in [pool.submit(work, own, now, {"push": channel}, "w") for own in engines]:
                done.result()
    for own in engines:
        own.dispose()
    assert len(channel.sent) == 20 * len(each_once())


@dataclass
class Wire:
    """A channel whose messages go to the test's own process."""

    queue: Any
    stuck: Any = None

    def send(self, address: Address, message: Message, now: datetime) -> Outcome:
        """Say what was sent; then stand still if told to."""
        self.queue.put((address.endpoint, message.duty))
        if self.stuck is not None:
            self.stuck.wait()
        return Outcome("sent")


def run_worker(url: str, name: str, queue: Any, stuck: Any = None) -> None:
    """What a worker's process does: work until there is nothing left."""
    engine = open_database(url)
    while work(engine, NOW, {"push": Wire(queue, stuck)}, name):
        pass


def test_two_workers_in_processes_send_each_message_once(engine, settings, home):
    context = multiprocessing.get_context("spawn")
    queue = context.Queue()
    workers = [context.Process(target=run_worker, args=(settings.database_url, name, queue)) for name in ("w1", "w2")]
    for worker in workers:
        worker.start()
    got = [queue.get(timeout=60) for _ in each_once()]
    for worker in workers:
        worker.join(60)
        assert worker.exitcode == 0
    assert sorted(got) == each_once() and queue.empty()
    assert states(engine) == ["sent"] * len(each_once())


def test_a_worker_killed_while_sending_loses_nothing_and_repeats_what_it_had_in_its_hands(engine, settings, home):
    context = multiprocessing.get_context("spawn")
    queue, stuck = context.Queue(), context.Event()
    worker = context.Process(target=run_worker, args=(settings.database_url, "w1", queue, stuck))
    worker.start()
    handed_over = [queue.get(timeout=60) for _ in range(HANDS)]
    worker.kill()
    worker.join(60)
    channel = Recorder()
    while work(engine, NOW, {"push": channel}, "w2"):
        pass
    # The lease of the killed worker is respected until it ends.
    assert sorted([*channel.sent, *handed_over]) == each_once()
    assert states(engine).count("waiting") == HANDS
    assert work(engine, NOW + LEASE, {"push": channel}, "w2") == WorkDone(sent=HANDS)
    assert sorted(channel.sent) == each_once()
    assert not work(engine, NOW + 2 * LEASE, {"push": channel}, "w2")


def test_a_round_whose_sending_takes_long_gives_the_other_work_its_turn(engine, home, monkeypatch):
    monkeypatch.setattr(working, "SENDING_A_ROUND", timedelta(0))
    channel, rounds = Recorder(), []
    while done := work(engine, NOW, {"push": channel}, "w1"):
        rounds.append(done.sent)
    assert max(rounds) == HANDS
    assert sorted(channel.sent) == each_once()


class Faulty(Recorder):
    """A channel with a fault of ours, which one message brings to light."""

    def send(self, address: Address, message: Message, now: datetime) -> Outcome:
        """Take one message, but for one."""
        if (address.endpoint, message.duty) == each_once()[0]:
            raise ZeroDivisionError
        return super().send(address, message, now)


def test_a_fault_in_one_message_sends_no_other_twice(engine, home):
    channel, now = Faulty(), NOW
    for _ in range(20):
        with suppress(ZeroDivisionError):
            work(engine, now, {"push": channel}, "w1")
        now += LEASE
    assert sorted(channel.sent) == each_once()[1:]


def test_a_worker_too_slow_for_its_lease_does_not_overwrite_the_next_one(engine, home, caplog):
    with writing(engine) as db:
        assert claim(db, ("push",), "nobody", NOW, 1) == []
    work(engine, NOW, {"push": Recorder(answers={name: [Outcome("later", "503")] * 20 for name in PEOPLE})}, "w0")
    later = NOW + LEASE
    with writing(engine) as db:
        (slow,) = claim(db, ("push",), "w1", later, 1)
    with writing(engine) as db:
        (quick,) = claim(db, ("push",), "w2", later, 1)
    assert slow.key != quick.key
    with writing(engine) as db:
        (second,) = (one for one in claim(db, ("push",), "w2", later + LEASE, 60) if one.key == slow.key)
        settle(db, [(second, [(address, Outcome("sent")) for address in second.addresses])], later + LEASE)
        settle(db, [(slow, [(address, Outcome("later", "503")) for address in slow.addresses])], later + LEASE)
    (row,) = [
        r for r in deliveries(engine) if (r.duty_key, r.person_id) == (slow.key["duty_key"], slow.key["person_id"])
    ]
    assert row.state == "sent"
    assert "may arrive twice" in caplog.text
