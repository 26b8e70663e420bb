"""Sending photos to the services, as phones do over the web."""

from __future__ import annotations

from datetime import datetime

from holdwatch.services.access import Who
from holdwatch.services.photos import Arrival, Cabinet, Piece, arrival_of, take_piece
from holdwatch.store.database import reading
from people import START
from pictures import name_of


def piece_of(data: bytes, offset: int = 0, length: int | None = None, name: str | None = None) -> Piece:
    """A piece of a photo; all that is left of it where no length is said."""
    end = len(data) if length is None else offset + length
    return Piece(name or name_of(data), len(data), offset, data[offset:end])


def send(cabinet: Cabinet, who: Who, data: bytes, now: datetime = START, step: int = 200_000) -> Arrival:
    """Send what is missing of a photo, piece by piece."""
    with reading(cabinet.engine) as db:
        arrival = arrival_of(db, cabinet, who, name_of(data))
    while not arrival.kept:
        arrival = take_piece(cabinet, who, piece_of(data, arrival.had, step), now)
    return arrival
