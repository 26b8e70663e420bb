"""The file of a photo, for members of the household that it belongs to."""

from __future__ import annotations

from pathlib import Path

import sqlalchemy as sa

from ...store.tables import photo
from ..access import NotFound, Who
from .shelf import Shelf

NOT_HERE = "There is no such photo here. It may still be on the device that took it."


def file_of(db: sa.Connection, shelf: Shelf, who: Who, sha256: str, small: bool) -> Path:
    """The file of the household's photo, or of its thumbnail; NotFound where it has none of that name."""
    mine = photo.c.household_id == who.household_id, photo.c.sha256 == sha256
    known = db.execute(sa.select(photo.c.sha256).where(*mine)).first()
    path = (shelf.thumbnail if small else shelf.full)(who.household_id, sha256)
    if known is None or not path.is_file():
        raise NotFound(NOT_HERE)
    return path
