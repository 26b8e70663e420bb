"""Threads that write to one SQLite file have their turns in the order in which they came."""

from __future__ import annotations

import threading
import time
from concurrent.futures import ThreadPoolExecutor

import pytest
import sqlalchemy as sa

from holdwatch.store.database import writing
from holdwatch.store.turns import Turns

PATIENCE = 5.0


def in_line(turns: Turns, count: int) -> None:
    """Wait until so many stand in line."""
    until = time.monotonic() + PATIENCE
    while len(turns._queue) < count:
        assert time.monotonic() < until
        time.sleep(0.001)


def test_turns_are_had_in_the_order_of_coming():
    turns, order = Turns(), []

    def have(number: int) -> None:
        with turns.one(PATIENCE):
            order.append(number)

    with ThreadPoolExecutor(8) as pool:
        with turns.one(PATIENCE):
            for number in range(8):
                pool.submit(have, number)
                in_line(turns, number + 2)
    assert order == list(range(8))


def test_whoever_has_lost_patience_goes_on_and_holds_nobody_up():
    turns = Turns()
    with turns.one(PATIENCE):
        with turns.one(0.01):
            pass
        with turns.one(0.01):
            in_line(turns, 2)
    with turns.one(0.0):
        in_line(turns, 1)


def test_a_turn_that_fails_is_over():
    turns = Turns()
    with pytest.raises(ZeroDivisionError), turns.one(PATIENCE):
        _ = 1 / 0
    with turns.one(0.0):
        in_line(turns, 1)


def test_ones_that_write_without_a_pause_keep_nobody_out(engine: sa.Engine):
    enough, had = threading.Event(), []

    def hog() -> None:
        while not enough.is_set():
            with writing(engine):
                had.append("another")
                time.sleep(0.01)

    came_between = []
    with ThreadPoolExecutor(2) as pool:
        hogs = [pool.submit(hog) for _ in range(2)]
        for _ in range(20):
            before = len(had)
            with writing(engine):
                came_between.append(len(had) - before)
        enough.set()
        assert [one.result() for one in hogs] == [None, None]
    # Both may stand in line already, and one may have its turn just now.
    assert max(came_between) <= 3
