"""Where the bytes of photos lie: files of one folder, each household's apart, readable by nobody but the server's user.

What is kept appears under its name only when it is whole and on the disk; it is never written again.
"""

from __future__ import annotations

import errno
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from secrets import token_hex

from .errors import CannotKeep, NoRoom

# What the database and the machine itself still need.
SPARE_BYTES = 500_000_000
DISK_FULL = (
    "The server's disk is nearly full, so it takes no photos now. They wait on this device; "
    "whoever runs the server must make room."
)
_FULL = (errno.ENOSPC, errno.EDQUOT)


@dataclass(frozen=True)
class Shelf:
    """The folder of all photos."""

    folder: Path

    def full(self, household_id: str, sha256: str) -> Path:
        """The file of a kept photo."""
        return self.folder / household_id / f"{sha256}.jpg"

    def thumbnail(self, household_id: str, sha256: str) -> Path:
        """The file of its thumbnail."""
        return self.folder / household_id / f"{sha256}.small.jpg"

    def has(self, household_id: str, sha256: str) -> bool:
        """Whether both of its files are there: a backup may have been brought back without them."""
        return self.full(household_id, sha256).is_file() and self.thumbnail(household_id, sha256).is_file()

    def part(self, household_id: str, sha256: str) -> Path:
        """The file in which its pieces are put together."""
        return self.folder / household_id / f"{sha256}.part"

    def part_bytes(self, household_id: str, sha256: str) -> int:
        """How many bytes are put together so far."""
        try:
            return self.part(household_id, sha256).stat().st_size
        except FileNotFoundError:
            return 0

    def put_piece(self, household_id: str, sha256: str, offset: int, piece: bytes) -> None:
        """Write a piece at its place, on the disk when this returns; the first one begins anew."""
        path = self.part(household_id, sha256)
        with _telling():
            self._make_room(path.parent, len(piece))
            fresh = os.O_TRUNC if offset == 0 else 0
            file = os.open(path, os.O_WRONLY | os.O_CREAT | fresh, 0o600)
            try:
                _write_at(file, piece, offset)
                os.fsync(file)
            finally:
                os.close(file)

    def put_together(self, household_id: str, sha256: str) -> bytes:
        """All that was put together of a photo."""
        return self.part(household_id, sha256).read_bytes()

    def keep(self, path: Path, data: bytes) -> None:
        """Write a whole file."""
        with _telling():
            self._make_room(path.parent, len(data))
            write_whole(path, data)

    def drop_part(self, household_id: str, sha256: str) -> None:
        """Delete what was put together of a photo."""
        self.part(household_id, sha256).unlink(missing_ok=True)

    def free_bytes(self) -> int:
        """How much the disk would still take of photos."""
        there = next(path for path in (self.folder, *self.folder.absolute().parents) if path.is_dir())
        return max(0, shutil.disk_usage(there).free - SPARE_BYTES)

    def _make_room(self, folder: Path, count: int) -> None:
        make_private_folder(folder)
        if count > self.free_bytes():
            raise NoRoom(DISK_FULL)


def make_private_folder(folder: Path) -> None:
    """Make a household's folder, and the one of all photos above it, for the server's user alone."""
    for one in (folder.parent, folder):
        one.mkdir(mode=0o700, parents=True, exist_ok=True)


def write_whole(path: Path, data: bytes) -> None:
    """Write a file under another name, then give it its own: it is there whole, or not at all."""
    unfinished = path.with_name(f"{path.name}.{token_hex(8)}.new")
    try:
        _write_new(unfinished, data)
        os.replace(unfinished, path)
        _settle_names(path.parent)
    finally:
        unfinished.unlink(missing_ok=True)


def _write_at(file: int, piece: bytes, offset: int) -> None:
    while piece:
        count = os.pwrite(file, piece, offset)
        piece, offset = piece[count:], offset + count


def _write_new(path: Path, data: bytes) -> None:
    file = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        _write_at(file, data, 0)
        os.fsync(file)
    finally:
        os.close(file)


def _settle_names(folder: Path) -> None:
    """A new name is on the disk only once its folder is."""
    opened = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)


@contextmanager
def _telling() -> Iterator[None]:
    """Say in words what the disk or its folder refuses."""
    try:
        yield
    except OSError as problem:
        if problem.errno in _FULL:
            raise NoRoom(DISK_FULL) from problem
        said = f"The server cannot write to its folder of photos ({problem.strerror}). They wait on this device."
        raise CannotKeep(said) from problem
