"""Merges a change into the household's copy, and notes what it overrules and where two did not know of each other."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field

from ...records.merge import Stamped, canonical, merge, unaware
from .change import Change
from .history import Overruled, Written
from .stored import Stored


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
    sent = ((name, field) for name, field in change.fields.items() if name not in skip)
    new = {n: field for n, field in sent if n not in record.fields or not _is_repeated(held, record, n, field)}
    merged = merge(record.fields, new)
    for name in new.keys() & record.fields.keys():
        old = record.fields[name]
        if not (change.held and _was_told(new[name], old)):
            _note_concurrent(record, name, change, old)
        held.lose(record, name, old if merged[name] is new[name] else new[name])
    record.fields = merged
    record.revision = change.revision if new else record.revision


def _is_repeated(held: Held, record: Stored, name: str, new: Stamped) -> bool:
    old = record.fields[name]
    value = canonical(new.value)
    stands = old.stamp == new.stamp and canonical(old.value) == value
    return stands or (record.id, name, new.stamp, value) in held.overruled


def _was_told(one: Stamped, other: Stamped) -> bool:
    """Whether the later of the two replaced something as late as the earlier one, which had been heard of then."""
    earlier, later = sorted((one, other), key=lambda field: field.stamp)
    return (later.was or "") >= earlier.stamp


def _note_concurrent(record: Stored, name: str, change: Change, old: Stamped) -> None:
    new, seen = change.fields[name], change.seen
    if unaware(new, old, seen) or new.stamp == old.stamp:
        record.concurrent[name] = change.revision
    elif seen is not None and name in record.concurrent and seen >= record.concurrent[name]:
        # To know what stands here is not enough: a phone may have written twice on its own, and the second writing
        # knows as little of the others as the first. Whoever saw the mark itself has settled it.
        del record.concurrent[name]
