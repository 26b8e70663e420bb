"""The SQLite file that stands at the database's address: had by one alone, kept under another name, and replaced."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from datetime import datetime
from itertools import count
from pathlib import Path

from ..store.database import make_private
from .backup import check_sound

WAIT_SECONDS = 1.0
HELD = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}
# From then on nobody else can so much as read it, until the connection is closed.
ALONE = ("PRAGMA journal_mode=DELETE", "PRAGMA locking_mode=EXCLUSIVE", "BEGIN EXCLUSIVE", "COMMIT")
BESIDE = ("-wal", "-shm", "-journal")


class InUse(Exception):
    """A server, or another program, has the database open; the message says what to do."""

    def __init__(self, file: Path) -> None:
        super().__init__(
            f"{file} is in use. Stop what uses it first: press Ctrl+C where `holdwatch serve` or `holdwatch work` "
            "runs, or stop the service that runs it. Then try again."
        )


@contextmanager
def had_alone(file: Path) -> Iterator[sqlite3.Connection | None]:
    """The sound database of ours that stands there, closed to everybody else; None where there is none.

    InUse while anybody has it open. What is damaged cannot be had, for it cannot be trusted to hold a lock or a page.
    """
    if not file.exists():
        yield None
        return
    with closing(sqlite3.connect(file, timeout=WAIT_SECONDS, isolation_level=None)) as db:
        yield db if _is_had(db, file) else None


def kept_name(file: Path, now: datetime) -> Path:
    """A name beside it that nothing has yet."""
    bare = f"{file.name}.before-{now:%Y%m%dT%H%M%SZ}"
    names = (file.with_name(f"{bare}-{number}" if number else bare) for number in count())
    return next(name for name in names if not name.exists())


def keep(db: sqlite3.Connection, kept: Path) -> None:
    """Copy the database that is had alone, on to the disk."""
    make_private(kept)
    with closing(sqlite3.connect(kept)) as copy:
        db.backup(copy)
    sync_folder(kept.parent)


def take_place(fresh: Path, db: sqlite3.Connection) -> None:
    """Put the fresh database in the place of the one that is had alone.

    SQLite does it in one transaction: a process that is killed leaves a journal, by which whoever opens the database
    next finds it as it was.
    """
    # As an address that makes no file: an empty one must never take the place.
    with closing(sqlite3.connect(f"{fresh.absolute().as_uri()}?mode=rw", uri=True)) as source:
        source.backup(db)


def take_empty_place(fresh: Path, file: Path, kept: Path) -> None:
    """Put the fresh database where none stands that could be had; what lies there is moved aside as it is."""
    for ending in ("", *BESIDE):
        with suppress(FileNotFoundError):
            os.rename(f"{file}{ending}", f"{kept}{ending}")
    os.replace(fresh, file)
    sync_folder(file.parent)


def remove(file: Path) -> None:
    """Remove a database that was never finished, and what lies beside it."""
    for ending in ("", *BESIDE):
        Path(f"{file}{ending}").unlink(missing_ok=True)


def sync_folder(folder: Path) -> None:
    """Bring names on to the disk, where the system can."""
    with suppress(PermissionError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


def _is_had(db: sqlite3.Connection, file: Path) -> bool:
    try:
        for statement in ALONE:
            db.execute(statement)
        check_sound(db)
    except sqlite3.DatabaseError as problem:
        if getattr(problem, "sqlite_errorcode", 0) & 0xFF in HELD:
            raise InUse(file) from problem
        return False
    return True
