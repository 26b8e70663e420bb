"""Photos: their bytes come in apart from the records, are drawn anew, and are shown to the household alone."""

from .arriving import (
    PHOTO_LIMIT_BYTES,
    PIECE_LIMIT_BYTES,
    Arrival,
    Cabinet,
    Piece,
    arrival_of,
    room_for,
    take_piece,
)
from .clearing import clear_leftovers, clear_unfinished
from .copying import copy_photos
from .errors import CannotKeep, NoRoom, PhotoRefused, PhotoTooLarge, WrongOffset
from .room import Room
from .shelf import Shelf
from .shown import file_of

__all__ = [
    "PHOTO_LIMIT_BYTES",
    "PIECE_LIMIT_BYTES",
    "Arrival",
    "Cabinet",
    "CannotKeep",
    "NoRoom",
    "PhotoRefused",
    "PhotoTooLarge",
    "Piece",
    "Room",
    "Shelf",
    "WrongOffset",
    "arrival_of",
    "clear_leftovers",
    "clear_unfinished",
    "copy_photos",
    "file_of",
    "room_for",
    "take_piece",
]
