"""A record that was written, as far as those must know it who keep what follows from it."""

from __future__ import annotations

from typing import Any, Protocol


class Written(Protocol):
    """What a record is of, and what it says."""

    id: str
    kind: str

    def value(self, name: str) -> Any: ...
