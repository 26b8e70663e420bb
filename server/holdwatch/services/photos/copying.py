"""Photos are copied along with the database, and put back with it: files that never change, each under its own name."""

from __future__ import annotations

import re
from pathlib import Path

from ...records.fields import SHA256
from .shelf import make_private_folder, write_whole

_KEPT = re.compile(rf"({SHA256.pattern})(\.small)?\.jpg")


def copy_photos(source: Path, target: Path) -> int:
    """Copy what the one folder of photos has and the other lacks; how many photos. OSError where the disk refuses.

    Their rows are written after their files, so a folder that is copied after its database lacks none of them.
    """
    copied = set()
    for file in sorted(source.glob("*/*.jpg")):
        name, place = _KEPT.fullmatch(file.name), target / file.parent.name / file.name
        if name is None or place.exists():
            continue
        make_private_folder(place.parent)
        write_whole(place, file.read_bytes())
        copied.add((file.parent.name, name[1]))
    return len(copied)
