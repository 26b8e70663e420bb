"""Who holds a phone, and what the machine knows of both."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import Any, Protocol

from holdwatch.services.access import Who
from sync.household import Answer
from sync.ledger import Place

TRACKED = ("note", "at_error_min")
"""The fields whose every writing has a value of its own."""


class Phone(Protocol):
    """What the machine asks of a phone, be it the model or the client's own store."""

    def write(self, kind: str, fields: dict[str, Any]) -> str: ...
    def edit(self, record: str, fields: dict[str, Any]) -> None: ...
    def mend(self, number: int, fields: dict[str, Any]) -> None: ...
    def attention(self) -> list[tuple[int, str, dict[str, Any]]]: ...
    def hold(self) -> dict[str, dict[str, Any]]: ...
    def request(self, asking: bool, limit: int) -> tuple[int, dict[str, Any]]: ...
    def take(self, batch: int, answer: dict[str, Any]) -> None: ...
    def clock(self, ahead_ms: int) -> None: ...
    def restart(self) -> None: ...
    def discard(self) -> None: ...


@dataclass
class Hand:
    """A person with a phone, and what the machine knows of both."""

    who: Who
    phone: Phone
    knows: dict[Place, set[Any]] = field(default_factory=lambda: defaultdict(set))
    asked: tuple[int, dict[str, Any]] | None = None
    """The batch and the request on their way."""
    answers: list[tuple[int, Answer]] = field(default_factory=list)
    settings: int = 0
    """How often the clock was set or the page opened anew."""
    logged: dict[str, tuple[int, int]] = field(default_factory=dict)
    """The true time of each record's writing, and `settings` then."""
    dated: set[str] = field(default_factory=set)
    """Records that were first sent under the setting that they were written under."""
