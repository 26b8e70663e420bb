"""What waits on a phone to be sent, and how its stamps are laid over what came down."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from holdwatch.records.merge import Stamped, wins
from holdwatch.records.stamps import Stamp

Fields = dict[str, dict[str, Any]]


@dataclass
class Entry:
    """One write that the server has not taken yet."""

    number: int
    record: str
    fields: Fields
    seen: int | None
    wall_ms: int
    session: int
    elapsed_ms: int
    clocked: list[str]
    sent: bool = False
    corrected: bool = False
    returned: bool = False
    reason: str | None = None

    def stamps(self) -> list[str]:
        """The stamps of its fields."""
        return [written["stamp"] for written in self.fields.values()]


def lay(fields: Fields, over: Fields) -> None:
    """Lay newer writings over `fields`."""
    for name, written in over.items():
        new = Stamped(written["value"], written["stamp"])
        old = fields.get(name)
        if old is None or wins(new, Stamped(old["value"], old["stamp"])):
            fields[name] = {"value": new.value, "stamp": new.stamp}


def latest(*stamps: Stamp | None) -> Stamp | None:
    """The latest of those there are."""
    return max((stamp for stamp in stamps if stamp is not None), default=None)
