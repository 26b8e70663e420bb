"""A server of a neighbouring version: `python neighbouring_server.py older|previous|newer serve --port N`.

The previous one, of schema number 2, knows no nursery, nobody who is away or has a turn, and no duty put off, and
spells out each verdict. The older one is what a server of schema number 1 was: it knows no photos either, and nothing
of an event that stands for itself; it takes a stamp from each field alone, and tells everything in each answer. The
newer one knows ponds, how fast gills move, and of a fish at its food more than we do.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from importlib import import_module
from typing import Any

from marshmallow import fields as of
from marshmallow import validate

from holdwatch.records import kinds

NEW_SINCE_THE_FIRST = ("photo",), ("separate",)
NEW_SINCE_THE_SECOND = (
    ("absence", "rota", "batch", "food", "culture", "count", "water_test", "water_change"),
    ("until", "weekdays", "belly"),
)
MARKS_OF_THE_SECOND = ("courtship", "spawning", "caught", "taken", "done", "handed_back", "loose_fry_handled")


def be_previous(number: int = 2) -> None:
    """Forget what came with schema number 3."""
    kinds.SCHEMA_NUMBER = number
    _forget(*NEW_SINCE_THE_SECOND)
    kinds.KINDS["mark"].fields["what"].validators[:] = [validate.OneOf(MARKS_OF_THE_SECOND)]
    # What names the kinds at its own beginning comes after they were changed.
    vars(import_module("holdwatch.web.sync"))["BRIEF_SCHEMA"] = sys.maxsize


def be_older() -> None:
    """Forget what came with schema number 2, too."""
    _forget(*NEW_SINCE_THE_FIRST)
    be_previous(1)
    agree = import_module("holdwatch.services.sync.agree")
    read_change = agree.read_change

    def read_as_before(raw: Any, *more: Any) -> Any:
        of_today = ("stamp", "held")
        known = {name: value for name, value in raw.items() if name not in of_today} if isinstance(raw, dict) else raw
        return read_change(known, *more)

    vars(agree)["read_change"] = read_as_before
    vars(agree)["LEAN_SCHEMA"] = sys.maxsize


def _forget(kinds_of_records: Sequence[str], names: Sequence[str]) -> None:
    known: dict[str, Any] = kinds.KINDS  # type: ignore[assignment]
    for kind in kinds_of_records:
        del known[kind]
    for schema in known.values():
        for part in (schema.fields, schema.load_fields, schema.dump_fields):
            for name in names:
                part.pop(name, None)


def be_newer() -> None:
    """Know a kind, a field, and other words for a field than this server."""
    kinds.SCHEMA_NUMBER += 1
    pond = type("PondSchema", (kinds.RecordSchema,), {"depth": of.Float(allow_none=True)})
    look = type("LookSchema", (kinds.LookSchema,), {name: of.String(allow_none=True) for name in ("gills", "food")})
    kinds.KINDS |= {"pond": pond(), "look": look()}  # type: ignore[operator]


if __name__ == "__main__":
    version, *words = sys.argv[1:]
    {"older": be_older, "previous": be_previous, "newer": be_newer}[version]()
    sys.exit(import_module("holdwatch.cli").main(words))
