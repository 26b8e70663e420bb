"""The text of a file as JSON values, or what is wrong with it and where, in plain words."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

LIMIT_BYTES = 4 * 1024 * 1024
DIGITS_OF_A_NUMBER = 20
NAME = re.compile(r"\w{1,40}", re.ASCII)

# What the library says of a text that is not JSON -> what we say.
NOT_JSON = {
    "Expecting value": "a value is missing here",
    "Expecting property name enclosed in double quotes": "a name in double quotes is missing here",
    "Expecting ':' delimiter": "a colon is missing here",
    "Expecting ',' delimiter": "a comma or a closing bracket is missing here",
    "Extra data": "there is more after the end",
    "Unterminated string starting at": "this text is never closed",
    "Invalid control character at": "this text holds a line break or another control character",
}


class BadFile(ValueError):
    """A file that tells of no brood, with a line for each fault."""

    def __init__(self, *faults: str) -> None:
        super().__init__("\n".join(faults))
        self.faults = faults


def parsed(path: Path) -> Any:
    """The value that the file holds; BadFile where it is no JSON (RFC 8259) that could be a brood."""
    text = _text(path)
    if not text.strip():
        raise BadFile("is empty")
    try:
        value = json.loads(text, object_pairs_hook=_Object, parse_constant=_NoNumber, parse_int=_whole)
        faults = tuple(_faults("", value))
    except json.JSONDecodeError as bad:
        why = NOT_JSON.get(bad.msg, "this cannot be read")
        raise BadFile(f"line {bad.lineno}, column {bad.colno}: is not JSON: {why}") from bad
    except RecursionError as bad:
        raise BadFile("is nested too deeply to be a brood") from bad
    if faults:
        raise BadFile(*faults)
    return value


def below(where: str, name: str | int) -> str:
    """The place of a part of what is at `where`: `looks`, then `looks[2]`, then `looks[2].light`."""
    if isinstance(name, int):
        return f"{where}[{name}]"
    shown = name if NAME.fullmatch(name) else ascii(name[:40])
    return f"{where}.{shown}" if where else shown


class _Object(dict[str, Any]):
    """An object that remembers which names it was given twice."""

    def __init__(self, pairs: list[tuple[str, Any]]) -> None:
        super().__init__(pairs)
        counts = Counter(name for name, _ in pairs)
        self.twice = sorted(name for name, count in counts.items() if count > 1)


class _NoNumber(str):
    """NaN or an infinity, which JSON does not know."""


def _text(path: Path) -> str:
    try:
        with path.open("rb") as file:
            found = file.read(LIMIT_BYTES + 1)
    except OSError as bad:
        raise BadFile(f"cannot be read: {bad.strerror or bad}") from bad
    if len(found) > LIMIT_BYTES:
        raise BadFile(f"is larger than {LIMIT_BYTES // 1024**2} MiB; no brood is")
    try:
        return found.decode("utf-8-sig")
    except UnicodeDecodeError as bad:
        raise BadFile(f"is not text in UTF-8 (at byte {bad.start + 1})") from bad


def _whole(digits: str) -> int | float:
    """The number; one beyond all sense as a float, so that it is told of like every other that is too great."""
    return int(digits) if len(digits) <= DIGITS_OF_A_NUMBER else float(digits)


def _faults(where: str, value: Any) -> Iterator[str]:
    if isinstance(value, _NoNumber):
        yield f"{where or 'the file'}: {value} is not a number in JSON"
    elif isinstance(value, _Object):
        yield from (f"{below(where, name)}: given twice in one object" for name in value.twice)
        for name, inner in value.items():
            yield from _faults(below(where, name), inner)
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from _faults(below(where, number), inner)
