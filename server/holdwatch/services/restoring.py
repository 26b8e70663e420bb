"""A database is set back to a copy of it. What stood there is kept, and phones bring back what the copy lacks."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import sqlalchemy as sa

from ..store.database import SQLITE, checked_address, open_database, reading, writing
from ..store.migrate import is_known, migrate, shape
from ..store.tables import household, person, server_identity
from .backup import copy_soundly
from .carrying import carry_over
from .epochs import begin_epoch, last_heard
from .identity import new_identity
from .standing import InUse, had_alone, keep, kept_name, remove, take_empty_place, take_place


class CannotRestore(Exception):
    """Why nothing was restored; what stood there stands as it was."""


@dataclass(frozen=True)
class SetBack:
    """What the database was set back to."""

    heard_at: datetime | None
    """When a phone was last heard in it."""
    people: Sequence[str]
    """Who can sign in now."""
    carried: bool = False
    """Whether people, and what else no phone holds, are as they stood last and not as in the copy."""
    kept: Path | None = None
    """Where that lies which stood there before."""


def restore(database_url: str, copy: Path, now: datetime) -> SetBack:
    """Put the copy in the place of the database; or CannotRestore, and nothing has changed."""
    target = _target(database_url, copy)
    fresh, kept = target.with_name(target.name + ".restoring"), kept_name(target, now)
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with had_alone(target) as present:
            if present is not None:
                # Only whoever has the database alone touches the new one: another restore may be at work on it.
                with _unfinished(fresh):
                    done = _prepare(copy, fresh, present, now)
                    keep(present, kept)
                    take_place(fresh, present)
        if present is None:
            with _unfinished(fresh):
                done = _prepare(copy, fresh, None, now)
                take_empty_place(fresh, target, kept)
    except InUse as busy:
        raise CannotRestore(str(busy)) from busy
    except (OSError, sqlite3.Error, sa.exc.DBAPIError) as problem:
        raise CannotRestore(f"Nothing was restored: {problem}.") from problem
    return SetBack(done.heard_at, done.people, done.carried, kept if kept.exists() else None)


def new_epoch(database_url: str, now: datetime) -> SetBack:
    """Begin a new epoch in a database that was set back by other means; or CannotRestore while a server uses it."""
    engine = open_database(database_url)
    try:
        _require_alone(engine)
        migrate(engine, new_identity)
        with writing(engine) as db:
            heard = last_heard(db)
            begin_epoch(db, heard, now)
            return SetBack(max(filter(None, heard.values()), default=None), _people(db))
    except InUse as busy:
        raise CannotRestore(str(busy)) from busy
    finally:
        engine.dispose()


def _target(database_url: str, copy: Path) -> Path:
    url = checked_address(database_url)
    if url.drivername not in SQLITE or url.database is None:
        raise CannotRestore(
            "This command restores SQLite files. For PostgreSQL use its own pg_restore, and then `holdwatch new-epoch`."
        )
    target = Path(url.database)
    if not copy.is_file():
        raise CannotRestore(f"There is no file {copy}.")
    if target.exists() and copy.samefile(target):
        raise CannotRestore(f"{copy} is the database itself. Name a copy of it.")
    return target


def _copy(copy: Path, fresh: Path) -> None:
    try:
        copy_soundly(copy, fresh)
        with closing(sqlite3.connect(fresh)) as db:
            (version,) = db.execute("SELECT version_num FROM alembic_version").fetchone()
    except sqlite3.DatabaseError as problem:
        raise CannotRestore(f"{copy} is no sound copy of a database of Holdwatch's: {problem}.") from problem
    if not is_known(version):
        raise CannotRestore(f"{copy} was made by a newer Holdwatch than this one. Update Holdwatch, then restore it.")


@contextmanager
def _unfinished(fresh: Path) -> Iterator[None]:
    remove(fresh)
    try:
        yield
    finally:
        remove(fresh)


def _prepare(copy: Path, fresh: Path, present: sqlite3.Connection | None, now: datetime) -> SetBack:
    """Bring the copy to the newest shape, carry over what no phone holds, and begin a new epoch in it."""
    _copy(copy, fresh)
    engine = open_database(sa.URL.create("sqlite", database=str(fresh)))
    try:
        migrate(engine, new_identity)
        with writing(engine) as db:
            heard = last_heard(db)
            known, carried = ((), False) if present is None else _carry(present, db, copy, now)
            begin_epoch(db, heard, now, known)
            done = SetBack(max(filter(None, heard.values()), default=None), _people(db), carried)
    finally:
        engine.dispose()
    with closing(sqlite3.connect(fresh)) as db:
        # One plain file again, without a write-ahead log.
        db.execute("PRAGMA journal_mode=DELETE")
    return done


def _carry(present: sqlite3.Connection, new: sa.Connection, copy: Path, now: datetime) -> tuple[Sequence[str], bool]:
    """The epochs that the present database had, and whether anything was carried over from it."""
    engine = sa.create_engine("sqlite://", creator=lambda: present, poolclass=sa.pool.StaticPool)
    with engine.connect() as old:
        theirs, ours = (db.execute(sa.select(server_identity)).one() for db in (old, new))
        if theirs.database_id != ours.database_id:
            if old.execute(sa.select(person.c.person_id).limit(1)).first() is not None:
                raise CannotRestore(
                    f"{copy} is a copy of another database than the one that stands there, which has people of its "
                    "own. Move that one away first, or name another in HOLDWATCH_DATABASE."
                )
            return (), False
        epochs = [theirs.epoch, *theirs.earlier_epochs.split()]
        if shape(old) != shape(new):
            return epochs, False
        carry_over(old, new, now)
        return epochs, True


def _people(db: sa.Connection) -> list[str]:
    together = household.c.household_id == person.c.household_id
    query = sa.select(person.c.name, person.c.role, household.c.name.label("household")).join(household, together)
    here = query.where(person.c.removed_at.is_(None)).order_by(household.c.name, person.c.created_at)
    return [f"{row.name}, {row.role} of {row.household}" for row in db.execute(here)]


def _require_alone(engine: sa.Engine) -> None:
    if engine.dialect.name == "sqlite":
        with had_alone(Path(str(engine.url.database))):
            return
    others = "datname = current_database() AND usename = current_user AND pid <> pg_backend_pid()"
    with reading(engine) as db:
        count = db.exec_driver_sql(f"SELECT count(*) FROM pg_stat_activity WHERE {others}").scalar_one()
    if count:
        raise CannotRestore(
            "The database is in use: a server, or another program, is connected to it under this name. Stop it first: "
            "press Ctrl+C where `holdwatch serve` or `holdwatch work` runs, or stop the service that runs it."
        )
