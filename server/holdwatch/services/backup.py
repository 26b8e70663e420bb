"""A copy of the database, taken while it is in use, and checked before it counts."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path

from ..store.database import SQLITE, checked_address, make_private


class CannotBackUp(Exception):
    """Why no copy was made; nothing was overwritten."""


def back_up(database_url: str, target: Path) -> int:
    """Copy the SQLite database to `target` by its online backup; the copy's size in bytes.

    The copy appears under its name only when it is complete and sound.
    """
    source = _source(database_url)
    if target.exists():
        raise CannotBackUp(f"{target} exists already; name another file.")
    if not target.parent.is_dir():
        raise CannotBackUp(f"There is no folder {target.parent}.")
    unfinished = target.with_name(target.name + ".unfinished")
    try:
        copy_soundly(source, unfinished)
        os.replace(unfinished, target)
    except (OSError, sqlite3.Error) as problem:
        unfinished.unlink(missing_ok=True)
        raise CannotBackUp(f"No copy was made: {problem}.") from problem
    return target.stat().st_size


def _source(database_url: str) -> Path:
    url = checked_address(database_url)
    if url.drivername not in SQLITE:
        raise CannotBackUp(
            "This command copies SQLite files. For PostgreSQL use its own pg_dump, and then copy the folder of photos "
            "(HOLDWATCH_PHOTOS) by any means: its files never change."
        )
    assert url.database is not None
    if not Path(url.database).is_file():
        raise CannotBackUp(f"There is no database at {url.database}.")
    return Path(url.database)


def copy_soundly(source: Path, target: Path) -> None:
    """Copy a database page by page, while it may be in use; sqlite3.Error where the copy is not sound or not ours.

    The copy is one plain file, without the write-ahead log of a database in use.
    """
    make_private(target)
    # As an address the path is quoted: a name may hold # or ?.
    address = f"{source.resolve().as_uri()}?mode=ro"
    with closing(sqlite3.connect(address, uri=True)) as old, closing(sqlite3.connect(target)) as new:
        old.backup(new)
        new.execute("PRAGMA journal_mode=DELETE")
        check_sound(new)


def check_sound(db: sqlite3.Connection) -> None:
    """Nothing, where it is a sound database of ours; else sqlite3.DatabaseError says why."""
    found = db.execute("PRAGMA integrity_check").fetchone()[0]
    if found != "ok":
        raise sqlite3.DatabaseError(f"it is not sound: {found}")
    broken = db.execute("PRAGMA foreign_key_check").fetchone()
    if broken:
        raise sqlite3.DatabaseError(f"it is not sound: a row of {broken[0]} belongs to nothing in {broken[2]}")
    if db.execute("SELECT database_id FROM server_identity").fetchone() is None:
        raise sqlite3.DatabaseError("it has no identity, so it is none of Holdwatch's")
