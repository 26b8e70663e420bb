"""Merges a change into the household's copy, and notes what it overrules and where two did not know of each other."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field

from ...records.merge import Stamped, canonical, merge, unaware
from .change import Change
from .history import Overruled, Written
from .stored import NOW, Stored


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
    brought_by = None if change.author == person_id else person_id
    bare = Stored(change.id, change.kind, change.author, change.device, {}, brought_by=brought_by)
    record = held.records.setdefault(change.id, bare)
    sent = {n: Stamped(f.value, f.stamp, f.was, person_id, NOW) for n, f in change.fields.items() if n not in skip}
    new = {name: field for name, field in sent.items() if not _is_repeated(held, record, name, field)}
    merged = merge(record.fields, new)
    for name in new.keys() & record.fields.keys():
        old = record.fields[name]
        _note_concurrent(record, name, new[name], old, change.seen)
        held.lose(record, name, old if merged[name] is new[name] else new[name])
    record.fields = merged
    record.touched = record.touched or bool(new)


def _is_repeated(held: Held, record: Stored, name: str, new: Stamped) -> bool:
    old = record.fields.get(name)
    if old is None:
        return False
    value = canonical(new.value)
    stands = old.stamp == new.stamp and canonical(old.value) == value
    return stands or (record.id, name, new.stamp, value) in held.overruled


def _note_concurrent(record: Stored, name: str, new: Stamped, old: Stamped, seen: int | None) -> None:
    if unaware(new, old, seen) or new.stamp == old.stamp:
        record.concurrent[name] = NOW
    elif seen is not None and seen >= record.concurrent.get(name, NOW):
        # To know what stands here is not enough: a phone may have written twice on its own, and the second writing
        # knows as little of the others as the first. Whoever saw the mark itself has settled it.
        del record.concurrent[name]
