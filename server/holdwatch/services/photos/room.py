"""How much room a household's photos take, and how much is left for them."""

from __future__ import annotations

from dataclasses import dataclass

import sqlalchemy as sa

from ...store.tables import photo, photo_upload
from .errors import NoRoom
from .shelf import DISK_FULL, Shelf


@dataclass(frozen=True)
class Room:
    """Bytes of photos that a household has, may have, and can have now, the disk being what it is."""

    used_bytes: int
    limit_bytes: int
    free_bytes: int


def room_of(db: sa.Connection, shelf: Shelf, household_id: str, limit_bytes: int) -> Room:
    """The room of a household; what was promised of unfinished photos counts as taken."""
    used = _sum(db, photo.c.kept_bytes, household_id) + _sum(db, photo_upload.c.promised_bytes, household_id)
    return Room(used, limit_bytes, max(0, min(limit_bytes - used, shelf.free_bytes())))


def require_room(room: Room, count: int) -> None:
    """NoRoom where a photo of so many bytes would not fit."""
    if room.used_bytes + count > room.limit_bytes:
        raise NoRoom(
            f"This household's photos have filled their {room.limit_bytes // 1_000_000:,} MB on the server. "
            "They wait on this device; whoever runs the server can allow more (HOLDWATCH_PHOTOS_MEGABYTES)."
        )
    if count > room.free_bytes:
        raise NoRoom(DISK_FULL)


def _sum(db: sa.Connection, column: sa.Column[int], household_id: str) -> int:
    query = sa.select(sa.func.sum(column)).where(column.table.c.household_id == household_id)
    # PostgreSQL's sum of bigint is a decimal.
    return int(db.scalar(query) or 0)
