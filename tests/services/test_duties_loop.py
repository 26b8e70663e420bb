"""The loop goes on whatever a round meets, and says what it met."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Callable

import pytest
from sqlalchemy.exc import OperationalError

from holdwatch.services.duties import run_forever


class Rounds:
    """Rounds that end the loop after the last one."""

    def __init__(self, *rounds: Callable[[], object] | BaseException | bool) -> None:
        self.rounds = list(rounds)
        self.wake, self.stop = threading.Event(), threading.Event()
        self.seen = 0

    def __call__(self) -> object:
        """One round."""
        self.seen += 1
        this = self.rounds.pop(0)
        if not self.rounds:
            self.stop.set()
            self.wake.set()
        if isinstance(this, BaseException):
            raise this
        return this() if callable(this) else this

    def run(self, idle_seconds: float = 0.01) -> None:
        """Run them in the way `serve` does."""
        loop = threading.Thread(target=run_forever, args=(self, self.wake, self.stop, idle_seconds, 0.01))
        loop.start()
        loop.join(20)
        assert not loop.is_alive()


@pytest.mark.parametrize(
    "passing",
    [
        OperationalError("BEGIN IMMEDIATE", {}, sqlite3.OperationalError("database is locked")),
        ConnectionRefusedError("no push service"),
        TimeoutError("too slow"),
    ],
)
def test_what_passes_is_a_warning_and_the_loop_goes_on(caplog, passing):
    rounds = Rounds(passing, True, False)
    rounds.run()
    assert rounds.seen == 3
    (said,) = caplog.records
    assert said.levelname == "WARNING" and said.exc_info is None


def test_a_fault_of_the_program_is_told_with_its_traceback_and_the_loop_goes_on(caplog):
    rounds = Rounds(lambda: {}["no such key"], True, False)
    rounds.run()
    assert rounds.seen == 3
    (said,) = caplog.records
    assert said.levelname == "ERROR"
    assert "KeyError: 'no such key'" in caplog.text and "Traceback" in caplog.text


def test_while_there_is_something_to_do_the_loop_does_not_wait():
    rounds = Rounds(True, True, True, False)
    rounds.run(idle_seconds=3600)
    assert rounds.seen == 4


def test_a_nudge_wakes_the_loop():
    rounds = Rounds(False, False)
    threading.Timer(0.05, rounds.wake.set).start()
    rounds.run(idle_seconds=3600)
    assert rounds.seen == 2


def test_a_nudge_during_a_round_is_not_lost():
    rounds = Rounds(lambda: rounds.wake.set(), False)
    rounds.run(idle_seconds=3600)
    assert rounds.seen == 2
