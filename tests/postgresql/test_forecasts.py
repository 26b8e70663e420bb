"""Issuing on PostgreSQL: pushes, workers and ageing meet in one household, and none waits for another for ever."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest
import sqlalchemy as sa

from holdwatch.config import load_profiles
from holdwatch.services import access
from holdwatch.services.forecasts import ask_for_aged, issue_asked, issuing
from holdwatch.services.forecasts.body import no_forecast
from people import START, Neighbours
from services.notebook import Notebook, asked, hold
from sync.pushing import added, push, stamp

PROFILES = load_profiles()
ROUNDS = 40
WORKERS = 2


def push_looks(engine: sa.Engine, who: access.Who, broods: list[str], device: str) -> None:
    """Looks at all the broods in one push, in an order that changes from push to push."""
    for number in range(ROUNDS):
        order = broods if number % 2 else broods[::-1]
        push(engine, who, [added(who, "look", stamp(number, device=device), about=brood) for brood in order])


def work(engine: sa.Engine, done: threading.Event) -> int:
    """Issue and age as the loop does, each round an hour on; how many were issued."""
    issued, now = 0, START
    while not done.is_set():
        now += timedelta(hours=7)
        ask_for_aged(engine, now)
        issued += issue_asked(engine, PROFILES, now)
    return issued


def test_pushes_and_workers_in_one_household_never_wait_for_each_other_for_ever(
    engine: sa.Engine, neighbours: Neighbours, monkeypatch: pytest.MonkeyPatch
):
    notebook = Notebook(engine, neighbours.owner.who)
    broods = [hold(notebook, START) for _ in range(4)]
    # The arithmetic holds no lock, so it may as well be quick; an error grows old too, and so is asked for again.
    monkeypatch.setattr(
        issuing, "forecast_body", lambda story, *_: no_forecast(story.brood.id, "not made in this test")
    )
    done = threading.Event()
    with ThreadPoolExecutor(WORKERS + 2) as pool:
        workers = [pool.submit(work, engine, done) for _ in range(WORKERS)]
        phones = [
            pool.submit(push_looks, engine, who, broods, device)
            for who, device in ((neighbours.owner.who, "aaaaaaaa"), (neighbours.keeper.who, "bbbbbbbb"))
        ]
        try:
            for phone in phones:
                phone.result()
        finally:
            done.set()
        assert sum(worker.result() for worker in workers) > ROUNDS
    issue_asked(engine, PROFILES, START)
    assert asked(engine) == set()
