"""Random plans, replans, marks, troubles and killed workers: nothing is lost, nothing is sent twice."""

from __future__ import annotations

import itertools
import shutil
from collections import Counter
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from domain.hold import BROOD, local
from holdwatch.channels.message import Address, Message, Outcome
from holdwatch.domain.duties import Duty
from holdwatch.services.duties import work
from holdwatch.services.duties.claiming import LEASE
from holdwatch.services.duties.kept import read_kept, withdraw
from holdwatch.store.database import open_database, reading, writing
from services.reminding import keep, subscribe

START = local(20, 12)
PEOPLE = ("helper", "keeper", "owner")
NUMBER = itertools.count()


class Killed(BaseException):
    """What a killed worker leaves behind: nothing after this instant happened."""


@dataclass
class Wire:
    """A channel that goes wrong as it is told, and remembers what arrived under which version."""

    arrived: Counter = field(default_factory=Counter)
    trouble: list[str] = field(default_factory=list)
    versions: dict[str, int] = field(default_factory=dict)
    repeats_allowed: Counter = field(default_factory=Counter)

    def send(self, address: Address, message: Message, now: datetime) -> Outcome:
        """One message."""
        what = self.trouble.pop(0) if self.trouble else "sent"
        key = (message.duty, self.versions[message.duty], address.endpoint)
        if what == "killed before":
            raise Killed
        if what == "later":
            return Outcome("later", "503")
        self.arrived[key] += 1
        if what == "killed after":
            self.repeats_allowed[key] += 1
            raise Killed
        return Outcome("sent")


def duty(number: int, day: int, hour: int) -> Duty:
    """One of a few duties, on one of a few nights."""
    due = local(day, hour)
    key = f"look:{BROOD}:{number}"
    return Duty(key, "look_tonight", BROOD, date(2026, 11, day), due, due, due + timedelta(days=9))


duties = st.builds(duty, st.integers(0, 2), st.integers(20, 22), st.integers(12, 23))
TROUBLE = st.lists(st.sampled_from(["sent", "later", "killed before", "killed after"]), max_size=5)
steps = st.one_of(
    st.tuples(st.just("plan"), st.lists(duties, max_size=3, unique_by=lambda d: d.key)),
    st.tuples(st.just("done"), st.integers(0, 2)),
    st.tuples(st.just("withdraw"), st.integers(0, 2)),
    st.tuples(st.just("work"), TROUBLE),
    st.tuples(st.just("wait"), st.integers(1, 48 * 60)),
)


@dataclass
class Run:
    """One random course of events on a database of its own."""

    engine: object
    home: str
    wire: Wire = field(default_factory=Wire)
    now: datetime = START

    def step(self, what: str, detail) -> None:
        """One event."""
        if what == "wait":
            self.now += timedelta(minutes=detail)
        elif what == "work":
            self.wire.trouble = list(detail)
            self.work()
        elif what == "plan":
            keep(self.engine, self.home, *detail)
        elif what == "done":
            known = self.kept().get(f"look:{BROOD}:{detail}")
            if known and not known.withdrawn:
                keep(self.engine, self.home, replace(known.duty, done_at=self.now))
        elif what == "withdraw":
            with writing(self.engine) as db:
                withdraw(db, self.home, [f"look:{BROOD}:{detail}"], self.now)

    def work(self) -> None:
        """A worker's round, which may be its last."""
        self.wire.versions = {key: one.version for key, one in self.kept().items()}
        try:
            work(self.engine, self.now, {"push": self.wire}, "w")
        except Killed:
            self.wire.trouble = []

    def kept(self):
        """All duties."""
        with reading(self.engine) as db:
            return read_kept(db, self.home, BROOD)

    def owed(self) -> set[tuple[str, int, str]]:
        """What people must have heard by now."""
        due = [
            (key, one.version)
            for key, one in self.kept().items()
            if not one.withdrawn and one.duty.done_at is None and one.duty.tell_at <= self.now < one.duty.until_at
        ]
        return {(key, version, name) for key, version in due for name in PEOPLE}


@pytest.fixture
def prepared(engine, neighbours, tmp_path):
    """A database in which three people have a phone each, to be copied for every course of events."""
    for name in PEOPLE:
        subscribe(engine, getattr(neighbours, name), name, START)
    engine.dispose()
    return tmp_path / "holdwatch.sqlite3", neighbours.owner.who.household_id


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture], print_blob=True)
@given(st.lists(steps, max_size=14))
def test_no_duty_version_is_lost_or_doubled(prepared, course):
    path, home = prepared
    copy = path.with_name(f"course-{next(NUMBER)}.sqlite3")
    shutil.copy(path, copy)
    run = Run(open_database(f"sqlite:///{copy}"), home)
    for what, detail in course:
        run.step(what, detail)
    # Quiet at last: what was to go wrong and found nothing to do it to is over, leases end, and the worker lives.
    run.wire.trouble = []
    for _ in range(4):
        run.now += max(LEASE, timedelta(minutes=16))
        run.work()
    owed = run.owed()
    run.engine.dispose()
    copy.unlink()
    assert owed <= run.wire.arrived.keys()
    doubled = {key: n for key, n in run.wire.arrived.items() if n > 1 + run.wire.repeats_allowed[key]}
    assert doubled == {}
