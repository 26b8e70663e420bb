"""Merges a change into the household's copy, and notes what it overrules and where two did not know of each other."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field

from ...records.merge import Stamped, canonical, unaware, wins
from .change import Change
from .history import Overruled, Written
from .stored import MARKED_NOW, Stored


@dataclass
class Held:
    """The household's copy of the records that a push bears on, while the push is merged into it."""

    records: dict[str, Stored]
    overruled: set[Written]
    """Writings that came in before and have lost: one that is repeated late is no new edit."""
    lost: list[Overruled] = field(default_factory=list)

    def lose(self, record: Stored, name: str, loser: Stamped) -> None:
        """Note a value that lost."""
        entry = Overruled(record.id, name, loser)
        self.lost.append(entry)
        self.overruled.add(entry.written)


def merge_change(held: Held, change: Change, skip: Collection[str], person_id: str) -> None:
    """Merge the fields of `change`, all but those to `skip`; `person_id` is who sent it."""
    bare = Stored(change.id, change.kind, change.author, change.device, {})
    record = held.records.setdefault(change.id, bare)
    for name, sent in change.fields.items():
        if name not in skip and (record.id, name, sent.stamp, canonical(sent.value)) not in held.overruled:
            _merge_field(held, record, name, Stamped(sent.value, sent.stamp, sent.was, person_id), change.seen)


def _merge_field(held: Held, record: Stored, name: str, new: Stamped, seen: int | None) -> None:
    old = record.fields.get(name)
    if old is not None and (new.stamp, canonical(new.value)) == (old.stamp, canonical(old.value)):
        return
    record.touched = True
    if old is None:
        record.fields[name] = new
        return
    _note_concurrent(record, name, new, old, seen)
    winner, loser = (new, old) if wins(new, old) else (old, new)
    record.fields[name] = winner
    held.lose(record, name, loser)


def _note_concurrent(record: Stored, name: str, new: Stamped, old: Stamped, seen: int | None) -> None:
    if unaware(new, old) or new.stamp == old.stamp:
        record.concurrent[name] = MARKED_NOW
    elif new.was == old.stamp and seen is not None and seen >= record.concurrent.get(name, MARKED_NOW):
        # That `was` is what stands here is not enough: a phone may have written twice on its own, and the
        # second knows as little of the others as the first. Whoever saw the mark itself has settled it.
        del record.concurrent[name]
