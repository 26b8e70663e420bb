"""Opens the database so that on SQLite and PostgreSQL a transaction means the same."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext, suppress
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import make_url

from ..config import BadSetting
from .turns import Turns

SQLITE, POSTGRESQL = ("sqlite", "sqlite+pysqlite"), ("postgresql", "postgresql+psycopg")
BUSY_SECONDS = 10.0
"""How long a transaction waits for another one that writes to the same SQLite file: less than a phone waits for us."""
# By their primary codes: what passes by itself, or when somebody has made room. The rest are faults of ours.
PASSING = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED, sqlite3.SQLITE_IOERR, sqlite3.SQLITE_FULL}
PASSING |= {sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN}
# By the first two letters of their SQLSTATE (PostgreSQL 15, appendix A): no connection, a deadlock, no room, held by
# another, shut down, a disk. A statement that is too long or a password that is wrong is a fault of ours.
PASSING_CLASSES = frozenset({"08", "40", "53", "55", "57", "58"})
TURNS, PATIENCE = "holdwatch_turns", "holdwatch_patience_seconds"
ADDRESS = "The database's address (HOLDWATCH_DATABASE)"
LIKE = "sqlite:////path/to/file or postgresql://user@host/name"


class CannotOpen(BadSetting):
    """The database that was set cannot be used; the message says why, and names no password."""


def open_database(url: str | sa.URL, busy_seconds: float = BUSY_SECONDS) -> sa.Engine:
    """An engine for `url`; for SQLite the file and its folder are made where they are missing. Or CannotOpen."""
    parsed = checked_address(url)
    if parsed.drivername in POSTGRESQL:
        return _postgresql(parsed)
    assert parsed.database is not None
    try:
        make_private(Path(parsed.database))
    except OSError as problem:
        why = f"{problem.filename}: {problem.strerror}"
        raise CannotOpen(f"The database {parsed.database} cannot be made: {why}.") from problem
    options = {TURNS: Turns(), PATIENCE: busy_seconds}
    engine = sa.create_engine(parsed, connect_args={"timeout": busy_seconds}, execution_options=options)
    sa.event.listen(engine, "connect", _prepare_sqlite)
    return engine


def checked_address(url: str | sa.URL) -> sa.URL:
    """The address of a database that we can speak to; CannotOpen for any other text."""
    try:
        parsed = make_url(url)
    except (sa.exc.ArgumentError, ValueError):
        raise CannotOpen(f"{ADDRESS} cannot be read; it must be like {LIKE}.") from None
    if parsed.drivername not in SQLITE + POSTGRESQL:
        raise CannotOpen(f"{ADDRESS} must be like {LIKE}; {parsed.drivername} is not known here.")
    if parsed.drivername in SQLITE and parsed.database in (None, "", ":memory:"):
        raise CannotOpen(f"{ADDRESS} names no file; it must be like {LIKE}.")
    return parsed


def is_passing(problem: sa.exc.OperationalError) -> bool:
    """Whether the same may work later: the database is held, full or away, and nothing is wrong with what we asked."""
    code, state = (getattr(problem.orig, name, None) for name in ("sqlite_errorcode", "sqlstate"))
    if code is not None:
        return code & 0xFF in PASSING
    # A connection that could not be made, or broke, has no state.
    return state is None or state[:2] in PASSING_CLASSES


def make_private(file: Path) -> None:
    """Make the file where it is missing, for its owner alone: it holds password hashes and the key for Web Push.

    A file that is there is not touched: closing any descriptor of a database drops every lock that this process has on
    it, and another process could then remove the write-ahead log that we write to.
    """
    file.parent.mkdir(parents=True, exist_ok=True)
    with suppress(FileExistsError):
        os.close(os.open(file, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600))


@contextmanager
def writing(engine: sa.Engine) -> Iterator[sa.Connection]:
    """One transaction that may write.

    SQLite begins IMMEDIATE: a transaction that reads first and writes later fails at once when
    another one writes in between, whatever the busy timeout. Threads of this process have their turns in order.
    """
    with _turn(engine), engine.connect() as connection:
        if engine.dialect.name == "sqlite":
            connection.exec_driver_sql("BEGIN IMMEDIATE")
        else:
            connection.begin()
        try:
            yield connection
        except BaseException:
            _end(connection, "rollback")
            raise
        _end(connection, "commit")


def _turn(engine: sa.Engine) -> AbstractContextManager[None]:
    options = engine.get_execution_options()
    return options[TURNS].one(options[PATIENCE]) if TURNS in options else nullcontext()


@contextmanager
def reading(engine: sa.Engine) -> Iterator[sa.Connection]:
    """One consistent snapshot that is never written through."""
    with engine.connect() as connection:
        if engine.dialect.name == "sqlite":
            connection.exec_driver_sql("BEGIN")
        else:
            connection.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)
            connection.begin()
        try:
            yield connection
        finally:
            _end(connection, "rollback")


def _end(connection: sa.Connection, how: str) -> None:
    # The driver runs in autocommit, so BEGIN was ours and so is the end; but a full disk rolls back by itself, after
    # which there is nothing left to roll back, and nothing that could be committed.
    if connection.engine.dialect.name == "sqlite" and (how == "commit" or _is_open(connection)):
        connection.exec_driver_sql(how.upper())
    getattr(connection, how)()


def _is_open(connection: sa.Connection) -> bool:
    driver: Any = connection.connection.dbapi_connection
    return driver.in_transaction


def _postgresql(address: sa.URL) -> sa.Engine:
    try:
        return sa.create_engine(address, pool_pre_ping=True)
    except ModuleNotFoundError as missing:
        raise CannotOpen(f"For PostgreSQL {missing.name} is needed: pip install 'holdwatch[postgresql]'.") from missing


def _prepare_sqlite(dbapi_connection, _record) -> None:
    dbapi_connection.isolation_level = None
    cursor = dbapi_connection.cursor()
    # FULL: what was said to be taken survives a power cut as far as the disk keeps its word.
    # 4,000 pages, or 16 MB, of log before it is moved into the file: a page that many pushes write is moved once.
    for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON", "wal_autocheckpoint=4000"):
        cursor.execute(f"PRAGMA {pragma}")
    cursor.close()
