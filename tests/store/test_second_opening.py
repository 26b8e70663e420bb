"""Opening a database again in one process must not loosen the hold that its first connection has on the file.

SQLite's locks are POSIX advisory locks: a process loses all of its locks on a file when it closes any descriptor of
that file ("How To Corrupt An SQLite Database File", section 2.2). Another process then takes itself for the last one,
and removes the write-ahead log that the first goes on writing to.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import sqlalchemy as sa

from holdwatch.store.database import open_database, reading, writing
from holdwatch.store.tables import household

VISIT = """
import sqlite3, sys
db = sqlite3.connect(sys.argv[1])
print(*db.execute("select name from household"))
db.close()
"""


def _visit(file: Path) -> str:
    """What another process reads, which opens the database and closes it as the last one would."""
    return subprocess.run([sys.executable, "-c", VISIT, str(file)], check=True, capture_output=True, text=True).stdout


def _write(engine: sa.Engine, name: str) -> None:
    with writing(engine) as db:
        db.execute(sa.insert(household).values(household_id=name, name=name, revision=0, created_at=0))


def test_what_is_written_after_a_second_opening_is_there_for_others(engine: sa.Engine, tmp_path: Path):
    file = tmp_path / "holdwatch.sqlite3"
    _write(engine, "first")
    again = open_database(f"sqlite:///{file}")
    assert _visit(file) == "('first',)\n"
    _write(engine, "second")
    assert _visit(file) == "('first',) ('second',)\n"
    with reading(again) as db:
        assert db.scalar(sa.select(sa.func.count()).select_from(household)) == 2
    again.dispose()
