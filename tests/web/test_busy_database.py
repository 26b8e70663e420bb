"""While the database is held or full, the server says so and to try again: nothing is lost."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
import sqlalchemy as sa
from flask import Flask

from holdwatch.app import create_app
from holdwatch.config import Settings
from holdwatch.store.database import open_database, reading
from holdwatch.store.tables import record
from people import PASSWORD, Clock, Neighbours, Visitors, visiting
from sync.pushing import added


@pytest.fixture
def patient_engine(engine: sa.Engine, settings: Settings) -> Iterator[sa.Engine]:
    """The test's database, for which nobody waits long."""
    own = open_database(settings.database_url, busy_seconds=0.05)
    yield own
    own.dispose()


@pytest.fixture
def app(settings: Settings, patient_engine: sa.Engine, clock: Clock) -> Flask:
    app = create_app(settings, patient_engine, clock.now)
    app.testing = True
    return app


@pytest.fixture
def holder(tmp_path: Path, visitors: Visitors) -> Iterator[sqlite3.Connection]:
    """Another program, which writes until it is told to stop."""
    with closing(sqlite3.connect(tmp_path / "holdwatch.sqlite3", isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        yield other


def push(visitors: Visitors, change: dict):
    body = {"schema": 1, "device": "ab12cd34", "cursor": 0, "epoch": None, "changes": [change]}
    return visitors.owner.post("/api/v1/sync", body)


def test_a_push_while_another_program_writes_is_to_be_tried_again_and_then_taken(
    visitors: Visitors, holder: sqlite3.Connection
):
    look = added(visitors.owner.who, "look")
    answer = push(visitors, look)
    assert answer.status_code == 503 and int(answer.headers["Retry-After"]) > 0
    assert answer.json["error"]["code"] == "busy" and "Nothing is lost" in answer.json["error"]["message"]
    assert answer.headers["Content-Security-Policy"] == "default-src 'none'"
    holder.execute("ROLLBACK")
    assert push(visitors, look).json["verdicts"][0]["verdict"] == "taken"


def test_reading_goes_on_while_another_program_writes(visitors: Visitors, holder: sqlite3.Connection):
    assert visitors.owner.get("/api/v1/me").status_code == 200
    sign_in = {"login": "ilka@reedmarsh.example", "password": PASSWORD}
    assert visitors.signed_out.post("/api/v1/sign-in", sign_in).status_code == 503


def test_what_was_done_is_not_answered_with_trouble_because_a_sign_of_life_could_not_be_noted(
    visitors: Visitors, holder: sqlite3.Connection, clock: Clock
):
    clock.move(hours=2)
    body = {"schema": 1, "device": "ab12cd34", "cursor": 0, "epoch": None, "changes": []}
    assert visitors.owner.post("/api/v1/sync", body).status_code == 200


def test_a_full_disk_is_told_of_in_the_same_way(
    app: Flask, patient_engine: sa.Engine, neighbours: Neighbours, engine: sa.Engine
):
    visitors = visiting(app, neighbours)
    # SQLite's own measure of a full disk: no page more than there are.
    with patient_engine.connect() as db:
        db.exec_driver_sql(f"PRAGMA max_page_count={db.exec_driver_sql('PRAGMA page_count').scalar_one()}")
    answers = [push(visitors, added(visitors.owner.who, "look", note="x" * 2000)) for _ in range(40)]
    assert {answer.status_code for answer in answers} == {200, 503}
    taken = sum(answer.status_code == 200 for answer in answers)
    with reading(engine) as db:
        assert db.scalar(sa.select(sa.func.count()).select_from(record)) == taken


def test_a_fault_of_ours_in_what_we_ask_of_the_database_stays_our_fault(
    app: Flask, visitors: Visitors, engine: sa.Engine
):
    app.testing = False
    with engine.connect() as db:
        db.exec_driver_sql("ALTER TABLE person RENAME COLUMN role TO rank")
    answer = visitors.owner.get("/api/v1/me")
    assert (answer.status_code, answer.json["error"]["code"]) == (500, "our_fault")
