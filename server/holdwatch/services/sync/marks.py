"""The marks of a record's fields as one text: nearly always all were written at once, and then it says one mark."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import orjson

from ...records.merge import Mark, canonical_pointless

# No field is called so: the mark of all fields that are not named. Records of earlier versions name every one.
SHARED = ""


def marks_text(marks: Mapping[str, Mark]) -> str:
    """The text that the database keeps."""
    shared = next(iter(marks.values()))
    own = {name: mark for name, mark in marks.items() if mark is not shared and mark != shared}
    return canonical_pointless({SHARED: shared, **own} if own else {SHARED: shared})


def read_marks(text: str) -> tuple[Mark | None, dict[str, Mark]]:
    """The mark that is shared, if one is, and those of single fields."""
    own: dict[str, Mark] = {name: tuple(mark) for name, mark in orjson.loads(text).items()}
    return own.pop(SHARED, None), own


def marks_of(names: Iterable[str], text: str) -> dict[str, Mark]:
    """The mark of each of these fields."""
    shared, own = read_marks(text)
    return own if shared is None else dict.fromkeys(names, shared) | own


def stamps_of(text: str) -> tuple[str, dict[str, str]]:
    """The stamp of most fields, and the others by their names."""
    shared, own = read_marks(text)
    stamp = (shared or next(iter(own.values())))[0]
    return stamp, {name: mark[0] for name, mark in own.items() if mark[0] != stamp}
