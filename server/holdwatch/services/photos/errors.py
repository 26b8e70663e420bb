"""What can stand in the way of keeping a photo, each with a message for people."""

from __future__ import annotations


class PhotoRefused(Exception):
    """What was uploaded is no picture that may be kept; sending it again would not help."""


class PhotoTooLarge(Exception):
    """It has more bytes than one photo may have."""


class WrongOffset(Exception):
    """A piece does not begin where the server's part of the photo ends."""

    def __init__(self, had: int) -> None:
        self.where = {"offset": [str(had)]}
        super().__init__(f"The server has {had} bytes of this photo; go on from there.")


class NoRoom(Exception):
    """The household's share or the disk is full; it may be taken when there is room again."""


class CannotKeep(Exception):
    """The folder of photos cannot be written to; whoever runs the server must look."""
