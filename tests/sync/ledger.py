"""What truly happened: every write with all that its writer knew of, and every write that the server took."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any

from holdwatch.records.merge import canonical

Place = tuple[str, str]
"""A record's id and the name of one of its fields."""


@dataclass(frozen=True)
class Edit:
    """One write of one field. Its value is used nowhere else, so that it can be found again wherever it went."""

    place: Place
    value: Any
    knew: frozenset[Any]
    """The values of this field that the writer had written or had seen come down, overruled ones included."""
    clean: bool
    """Whether all that this phone had written to the record was taken already."""


@dataclass(frozen=True)
class Taken:
    """One write that the server has said to have taken."""

    place: Place
    stamp: str
    value: str
    person: str


@dataclass
class Ledger:
    """The books of one household."""

    edits: dict[Any, Edit] = field(default_factory=dict)
    taken: set[Taken] = field(default_factory=set)
    refused: set[tuple[Place, str]] = field(default_factory=set)
    """Writes, by their stamp, that were refused at least once."""
    arrived: dict[Place, set[Any]] = field(default_factory=lambda: defaultdict(set))
    mended: set[Any] = field(default_factory=set)

    def judge(self, change: dict[str, Any], verdict: str, person: str) -> None:
        """Enter what became of a change."""
        for name, value, stamp in _writings(change):
            place = (change["id"], name)
            if verdict == "taken":
                self.taken.add(Taken(place, stamp, canonical(value), person))
                self.arrived[place] |= {value}
            elif verdict == "refused":
                self.refused.add((place, stamp))

    def heads(self, place: Place) -> list[Edit]:
        """The edits of a field that nobody who edited it later knew of."""
        edits = self.edits_taken(place)
        return [edit for edit in edits if not any(edit.value in other.knew for other in edits)]

    def edits_taken(self, place: Place) -> list[Edit]:
        """The edits of a field that the server has taken."""
        return [self.edits[value] for value in self.arrived[place] if value in self.edits]

    def are_strangers(self, edits: Iterable[Edit]) -> bool:
        """Whether any two of these edits did not know of each other."""
        edits = list(edits)
        return any(
            one.value not in other.knew and other.value not in one.knew
            for n, one in enumerate(edits)
            for other in edits[:n]
        )

    def was_judged_twice(self, place: Place) -> bool:
        """Whether a write of the field was turned away and then taken, sent again or under another stamp."""
        taken = [write for write in self.taken if write.place == place]
        is_twofold = len({write.value for write in taken}) < len(taken)
        return is_twofold or any((place, write.stamp) in self.refused for write in taken)


def _writings(change: dict[str, Any]) -> Iterator[tuple[str, Any, str]]:
    """(field, value, stamp) of a change of either shape."""
    for name, value in change.get("values", {}).items():
        yield name, value, change["stamp"]
    for name, written in change.get("fields", {}).items():
        yield name, written["value"], written["stamp"]
