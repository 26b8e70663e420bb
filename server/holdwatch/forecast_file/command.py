"""The command: the forecast of the brood in a file, or a line for each fault of the file."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, TextIO

from marshmallow import ValidationError

from ..domain.forecast import BadEvidence, Evidence, forecast, to_json
from ..domain.forecast.words import in_words
from ..domain.species import Profile
from .brood import BroodSchema, evidence_of
from .text import BadFile, below, parsed

WRONG_FILE = 2


def run(path: str, as_json: bool, out: TextIO, err: TextIO) -> int:
    """Print the forecast of the brood in the file at `path`; return 0, or 2 with a line on `err` for each fault."""
    try:
        evidence, profile = read_brood(Path(path))
    except BadFile as bad:
        err.writelines(f"{path}: {fault}\n" for fault in bad.faults)
        return WRONG_FILE
    told = forecast(evidence, profile)
    out.write(f"{json.dumps(to_json(told), indent=2, ensure_ascii=False)}\n" if as_json else in_words(told, profile))
    return 0


def read_brood(path: Path) -> tuple[Evidence, Profile]:
    """Return the evidence and the species' profile that a file tells of, or raise `BadFile`."""
    brood = parsed(path)
    try:
        loaded = BroodSchema().load(brood)
    except ValidationError as bad:
        raise BadFile(*_lines("", bad.normalized_messages())) from bad
    try:
        return evidence_of(loaded), loaded["species"]
    except BadEvidence as bad:
        raise BadFile(*(f"{fault.where}: {fault.why}." for fault in bad.faults)) from bad


def _lines(where: str, messages: Any) -> Iterator[str]:
    """Yield one line a fault, with where it is: `looks[2].light: 'dusk' is none of ...`."""
    if isinstance(messages, Mapping):
        for name, inner in messages.items():
            yield from _lines(where if name == "_schema" else below(where, name), inner)
    else:
        yield from (f"{where or 'the file'}: {message}" for message in messages)
