"""A photo comes in: in pieces that may be sent again, put together, proven to be what was named, and drawn anew."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256 as sha256_of
from typing import Any

import sqlalchemy as sa

from ...records.instants import milliseconds
from ...store.database import reading, writing
from ...store.tables import photo, photo_upload
from ...store.upsert import upserting
from ..access import Who, still_here
from .errors import PhotoRefused, PhotoTooLarge, WrongOffset
from .picture import Picture, picture_of
from .room import Room, require_room, room_of
from .shelf import Shelf

PHOTO_LIMIT_BYTES = 8_000_000
PIECE_LIMIT_BYTES = 256 * 1024
WRONG_HASH = "What arrived is not the photo that was announced: it was changed on the way. Send it again."


@dataclass(frozen=True)
class Cabinet:
    """Where photos are kept, and how much of them a household may have."""

    engine: sa.Engine
    shelf: Shelf
    limit_bytes: int


@dataclass(frozen=True)
class Piece:
    """A piece of a photo: where it belongs, and how many bytes the whole has."""

    sha256: str
    promised_bytes: int
    offset: int
    data: bytes


@dataclass(frozen=True)
class Arrival:
    """How far a photo has come: it is kept, or the server has so many bytes of it."""

    kept: bool
    had: int
    promised_bytes: int | None = None


def arrival_of(db: sa.Connection, cabinet: Cabinet, who: Who, sha256: str) -> Arrival:
    """How far the household's photo of that name has come."""
    household_id, shelf = who.household_id, cabinet.shelf
    if db.execute(sa.select(photo.c.sha256).where(*_key(photo, household_id, sha256))).first():
        # What a backup brought back without its files is asked for again.
        if shelf.has(household_id, sha256):
            return Arrival(True, 0)
    row: Any = db.execute(sa.select(photo_upload).where(*_key(photo_upload, household_id, sha256))).one_or_none()
    if row is None or shelf.part_bytes(household_id, sha256) < row.had_bytes:
        return Arrival(False, 0)
    return Arrival(False, row.had_bytes, row.promised_bytes)


def room_for(db: sa.Connection, cabinet: Cabinet, who: Who) -> Room:
    """How much room the household's photos have."""
    return room_of(db, cabinet.shelf, who.household_id, cabinet.limit_bytes)


def take_piece(cabinet: Cabinet, who: Who, piece: Piece, now: datetime) -> Arrival:
    """Take a piece; after the last one the photo is looked at and kept, or refused. A photo that is kept is no fault.

    No transaction is open while files are written or pictures drawn. Of two phones that send the same piece one is told
    to go on where the other has come to.
    """
    with reading(cabinet.engine) as db:
        arrival = arrival_of(db, cabinet, who, piece.sha256)
    if arrival.kept:
        return arrival
    had = arrival.had if arrival.promised_bytes == piece.promised_bytes else 0
    _check(piece, had)
    if arrival.promised_bytes != piece.promised_bytes:
        _begin(cabinet, who, piece, now)
    if piece.data:
        cabinet.shelf.put_piece(who.household_id, piece.sha256, piece.offset, piece.data)
        had = _advance(cabinet, who, piece, now)
    if had < piece.promised_bytes:
        return Arrival(False, had, piece.promised_bytes)
    _finish(cabinet, who, piece, now)
    return Arrival(True, 0)


def _check(piece: Piece, had: int) -> None:
    if piece.promised_bytes > PHOTO_LIMIT_BYTES:
        raise PhotoTooLarge(f"A photo may have {PHOTO_LIMIT_BYTES // 1_000_000} MB at most. Make it smaller first.")
    if piece.offset != had:
        raise WrongOffset(had)
    if piece.offset + len(piece.data) > piece.promised_bytes:
        raise PhotoRefused("More of this photo came than was announced. Send it again.")


def _begin(cabinet: Cabinet, who: Who, piece: Piece, now: datetime) -> None:
    row = {
        "household_id": who.household_id,
        "sha256": piece.sha256,
        "promised_bytes": piece.promised_bytes,
        "had_bytes": 0,
        "changed_at": milliseconds(now),
    }
    with writing(cabinet.engine) as db:
        still_here(db, who)
        # An upload that is begun anew gives back first what it had been promised.
        db.execute(sa.delete(photo_upload).where(*_key(photo_upload, who.household_id, piece.sha256)))
        require_room(room_for(db, cabinet, who), piece.promised_bytes)
        db.execute(upserting(db, photo_upload), row)


def _advance(cabinet: Cabinet, who: Who, piece: Piece, now: datetime) -> int:
    """Count a piece that lies in its place; WrongOffset where another one was counted meanwhile."""
    mine, had = _key(photo_upload, who.household_id, piece.sha256), piece.offset + len(piece.data)
    counted = sa.update(photo_upload).where(*mine).values(had_bytes=had, changed_at=milliseconds(now))
    # The first piece begins anew, whatever had been counted of a file that is gone.
    before = sa.true() if piece.offset == 0 else photo_upload.c.had_bytes == piece.offset
    with writing(cabinet.engine) as db:
        still_here(db, who)
        if db.execute(counted.where(before)).rowcount == 1:
            return had
        raise WrongOffset(db.scalar(sa.select(photo_upload.c.had_bytes).where(*mine)) or 0)


def _finish(cabinet: Cabinet, who: Who, piece: Piece, now: datetime) -> None:
    household_id, sha256, shelf = who.household_id, piece.sha256, cabinet.shelf
    try:
        picture = _proven(shelf.put_together(household_id, sha256), sha256)
    except FileNotFoundError:
        # Another request has finished it meanwhile.
        raise WrongOffset(0) from None
    except PhotoRefused:
        with writing(cabinet.engine) as db:
            db.execute(sa.delete(photo_upload).where(*_key(photo_upload, household_id, sha256)))
        shelf.drop_part(household_id, sha256)
        raise
    shelf.keep(shelf.thumbnail(household_id, sha256), picture.thumbnail)
    shelf.keep(shelf.full(household_id, sha256), picture.full)
    with writing(cabinet.engine) as db:
        still_here(db, who)
        db.execute(upserting(db, photo), _row(who, sha256, picture, now))
        db.execute(sa.delete(photo_upload).where(*_key(photo_upload, household_id, sha256)))
    shelf.drop_part(household_id, sha256)


def _proven(data: bytes, sha256: str) -> Picture:
    if sha256_of(data).hexdigest() != sha256:
        raise PhotoRefused(WRONG_HASH)
    return picture_of(data)


def _row(who: Who, sha256: str, picture: Picture, now: datetime) -> dict[str, Any]:
    return {
        "household_id": who.household_id,
        "sha256": sha256,
        "person_id": who.person_id,
        "width": picture.width,
        "height": picture.height,
        "kept_bytes": len(picture.full) + len(picture.thumbnail),
        "kept_at": milliseconds(now),
    }


def _key(table: sa.Table, household_id: str, sha256: str) -> tuple[sa.ColumnElement[bool], ...]:
    return table.c.household_id == household_id, table.c.sha256 == sha256
