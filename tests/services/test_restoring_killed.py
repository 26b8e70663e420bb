"""Whoever kills a restore finds either the database that stood there or the new one, whole."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path
from random import Random

import pytest
import sqlalchemy as sa

from holdwatch.services.backup import back_up
from holdwatch.services.identity import new_identity
from holdwatch.store import tables
from holdwatch.store.database import open_database, writing
from holdwatch.store.migrate import migrate
from sync.pushing import NOW_MS, new_id

PROOF = bool(os.environ.get("HOLDWATCH_PROOF"))
ROUNDS = 200 if PROOF else 8
SEED = 41
SERVER = Path(__file__).parents[2] / "server"
RECORDS = 3_000

# Page by page, as SQLite itself goes; and killed in the middle, when more has changed than memory holds.
HALFWAY = """
import os, signal, sqlite3
from holdwatch import cli
from holdwatch.services import restoring

def die(_status, remaining, total):
    if remaining < total // 2:
        os.kill(os.getpid(), signal.SIGKILL)

def take_place(fresh, db):
    db.execute("PRAGMA cache_size=10")
    sqlite3.connect(fresh).backup(db, pages=20, progress=die)

restoring.take_place = take_place
cli.main()
"""
AFTER = """
import os, signal
from holdwatch import cli
from holdwatch.services import restoring
step = restoring.{step}

def killed(*arguments):
    step(*arguments)
    os.kill(os.getpid(), signal.SIGKILL)

restoring.{step} = killed
cli.main()
"""


@pytest.fixture
def large(engine: sa.Engine, settings, neighbours, tmp_path) -> Path:
    """A database of some megabytes, and a copy of it before its last words."""
    household_id = neighbours.owner.who.household_id
    row = {"household_id": household_id, "kind": "look", "author": neighbours.owner.who.person_id, "device": "ab12cd34"}
    row |= {"fields": f'{{"note":"{"x" * 1500}"}}', "concurrent": "{}", "revision": 1}
    row |= {"stamps": f'{{"note":["{NOW_MS}.0000.ab12cd34",null,"{neighbours.owner.who.person_id}",1]}}'}
    with writing(engine) as db:
        db.execute(sa.insert(tables.record), [{**row, "id": new_id()} for _ in range(RECORDS)])
    back_up(settings.database_url, tmp_path / "copy")
    with writing(engine) as db:
        db.execute(sa.insert(tables.record).values({**row, "id": new_id()}))
    engine.dispose()
    return tmp_path / "holdwatch.sqlite3"


def state(database: Path) -> tuple[str, int]:
    """The epoch and the number of records, of a database that is sound as far as SQLite can tell."""
    with closing(sqlite3.connect(database)) as db:
        assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert db.execute("PRAGMA foreign_key_check").fetchone() is None
        (epoch,) = db.execute("SELECT epoch FROM server_identity").fetchone()
        return epoch, db.execute("SELECT count(*) FROM record").fetchone()[0]


def restoring(database: Path, *program: str) -> subprocess.Popen[bytes]:
    """The command in a process of its own."""
    environ = {**os.environ, "HOLDWATCH_DATABASE": f"sqlite:///{database}", "PYTHONPATH": str(SERVER)}
    command = [sys.executable, *program, "restore", str(database.parent / "copy")]
    return subprocess.Popen(command, env=environ, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


@pytest.mark.timeout(3600 if PROOF else 300)
def test_killed_at_any_instant_it_leaves_the_old_database_or_the_new_one(large: Path):
    print(f"seed {SEED}")
    random, took, outcomes = Random(SEED), 0.0, []
    for number in range(ROUNDS):
        before = state(large)
        began = time.monotonic()
        process = restoring(large, "-m", "holdwatch.cli")
        if number == 0:
            assert process.wait(120) == 0
            took = time.monotonic() - began
        else:
            time.sleep(random.uniform(0.2, 1.05) * took)
            process.send_signal(signal.SIGKILL)
            process.wait()
        after = state(large)
        outcomes.append(after[0] != before[0])
        assert after[1] == RECORDS if outcomes[-1] else after == before
    print(f"{sum(outcomes)} of {ROUNDS} were done before they were killed")
    assert outcomes[0]
    # Whatever was left by those that were killed is in nobody's way.
    assert restoring(large, "-m", "holdwatch.cli").wait(120) == 0
    assert not list(large.parent.glob("*.restoring*"))


def test_killed_in_the_middle_of_the_replacement_it_leaves_the_old_database(large: Path):
    before = state(large)
    assert restoring(large, "-c", HALFWAY).wait(120) == -signal.SIGKILL
    # SQLite's own journal says how the pages were that have been overwritten already.
    assert Path(f"{large}-journal").stat().st_size > 100_000
    assert state(large) == before
    assert not Path(f"{large}-journal").exists()


@pytest.mark.parametrize(("step", "is_done"), [("_prepare", False), ("keep", False), ("take_place", True)])
def test_killed_after_each_step_it_leaves_one_or_the_other(large: Path, step: str, is_done: bool):
    before = state(large)
    assert restoring(large, "-c", AFTER.format(step=step)).wait(120) == -signal.SIGKILL
    after = state(large)
    assert (after[0] != before[0]) == is_done
    assert after[1] == (RECORDS if is_done else RECORDS + 1)
    engine = open_database(f"sqlite:///{large}")
    assert migrate(engine, new_identity).epoch == after[0]
    engine.dispose()
