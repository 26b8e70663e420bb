"""Unfinished uploads are given up after some days: a phone that comes back later begins anew."""

from __future__ import annotations

from datetime import datetime, timedelta

import sqlalchemy as sa

from ...records.instants import milliseconds
from ...store.database import reading, writing
from ...store.tables import photo_upload
from .shelf import Shelf

UNFINISHED = timedelta(days=7)


def clear_unfinished(engine: sa.Engine, shelf: Shelf, now: datetime) -> int:
    """Give up what nobody went on with for a week; how many there were."""
    old = photo_upload.c.changed_at < milliseconds(now - UNFINISHED)
    with reading(engine) as db:
        found = db.execute(sa.select(photo_upload).where(old)).all()
    for row in found:
        mine = photo_upload.c.household_id == row.household_id, photo_upload.c.sha256 == row.sha256
        with writing(engine) as db:
            # It may have been gone on with since.
            if db.execute(sa.delete(photo_upload).where(*mine, old)).rowcount == 0:
                continue
        shelf.drop_part(row.household_id, row.sha256)
    return len(found)


def clear_leftovers(shelf: Shelf, now: datetime) -> int:
    """Delete what a killed server or a restored database left half written more than a week ago; how many files."""
    left = [path for kind in ("*/*.part", "*/*.new") for path in shelf.folder.glob(kind)]
    old = [path for path in left if path.stat().st_mtime < (now - UNFINISHED).timestamp()]
    for path in old:
        path.unlink(missing_ok=True)
    return len(old)
