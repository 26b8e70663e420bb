"""Photographs: those that are kept, and those of which pieces are still to come. Their bytes lie in files."""

from __future__ import annotations

import sqlalchemy as sa

from .columns import at, household_id, metadata, number, own, text

# Named by the SHA-256 of what was uploaded; what is kept of it was drawn anew and is another file.
photo = sa.Table(
    "photo",
    metadata,
    household_id(),
    own("sha256"),
    text("person_id"),
    number("width"),
    number("height"),
    # What it and its thumbnail take of the disk.
    number("kept_bytes"),
    at("kept_at"),
)

photo_upload = sa.Table(
    "photo_upload",
    metadata,
    household_id(),
    own("sha256"),
    # How many bytes it is to have, and how many have come so far.
    number("promised_bytes"),
    number("had_bytes"),
    at("changed_at"),
    sa.Index(None, "changed_at"),
)
