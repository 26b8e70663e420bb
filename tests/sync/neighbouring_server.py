"""A server of a neighbouring version: `python neighbouring_server.py older|newer serve --port N`.

The older one is what a server of schema number 1 was: it knows no photos, and nothing of an event that stands for
itself; it takes a stamp from each field alone, and tells everything in each answer. The newer one knows ponds, how
fast gills move, and of a fish at its food more than we do.
"""

from __future__ import annotations

import sys
from importlib import import_module
from typing import Any

from marshmallow import fields as of

from holdwatch.records import kinds

NEW_SINCE_THE_FIRST = ("photo",), ("separate",)


def be_older() -> None:
    """Forget what came with schema number 2."""
    kinds.SCHEMA_NUMBER = 1
    known: dict[str, Any] = kinds.KINDS  # type: ignore[assignment]
    new_kinds, new_fields = NEW_SINCE_THE_FIRST
    for kind in new_kinds:
        del known[kind]
    for schema in known.values():
        for part in (schema.fields, schema.load_fields, schema.dump_fields):
            for name in new_fields:
                del part[name]
    # What names the kinds at its own beginning comes after they were changed.
    agree, sync = import_module("holdwatch.services.sync.agree"), import_module("holdwatch.web.sync")
    read_change = agree.read_change

    def read_as_before(raw: Any, *more: Any) -> Any:
        of_today = ("stamp", "held")
        known = {name: value for name, value in raw.items() if name not in of_today} if isinstance(raw, dict) else raw
        return read_change(known, *more)

    vars(agree)["read_change"] = read_as_before
    vars(sync)["LEAN_SCHEMA"] = sys.maxsize


def be_newer() -> None:
    """Know a kind, a field, and other words for a field than this server."""
    kinds.SCHEMA_NUMBER += 1
    pond = type("PondSchema", (kinds.RecordSchema,), {"depth": of.Float(allow_none=True)})
    look = type("LookSchema", (kinds.LookSchema,), {name: of.String(allow_none=True) for name in ("gills", "food")})
    kinds.KINDS |= {"pond": pond(), "look": look()}  # type: ignore[operator]


if __name__ == "__main__":
    version, *words = sys.argv[1:]
    {"older": be_older, "newer": be_newer}[version]()
    sys.exit(import_module("holdwatch.cli").main(words))
