"""Merges a change into the household's copy, and notes what it overrules and where two did not know of each other."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field

from ...records.merge import Stamped, canonical, unaware, wins
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
    record = held.records.get(change.id)
    if record is None:
        held.records[change.id] = _new(change, skip, person_id)
        return
    for name in change.values:
        if name in skip:
            continue
        new = change.field(name)
        if name not in record.values:
            record.write(name, new)
        elif not _is_repeated(held, record, name, new):
            _settle(held, record, name, change)
        else:
            continue
        record.revision = change.revision


def _new(change: Change, skip: Collection[str], person_id: str) -> Stored:
    values, marks = dict(change.values), dict(change.marks)
    for name in skip:
        del values[name], marks[name]
    brought_by = None if change.author == person_id else person_id
    identity = change.id, change.kind, change.author, change.device
    return Stored(*identity, values, marks, revision=change.revision, brought_by=brought_by)


def _settle(held: Held, record: Stored, name: str, change: Change) -> None:
    """Let one of two writings of a field stand, and keep the other."""
    old, new = record.field(name), change.field(name)
    if not (change.held and _was_told(new, old)):
        _note_concurrent(record, name, change, old)
    if wins(new, old):
        record.write(name, new)
        held.lose(record, name, old)
    else:
        held.lose(record, name, new)


def _is_repeated(held: Held, record: Stored, name: str, new: Stamped) -> bool:
    old = record.field(name)
    value = canonical(new.value)
    stands = old.stamp == new.stamp and canonical(old.value) == value
    return stands or (record.id, name, new.stamp, value) in held.overruled


def _was_told(one: Stamped, other: Stamped) -> bool:
    """Whether the later of the two replaced something as late as the earlier one, which had been heard of then."""
    earlier, later = sorted((one, other), key=lambda field: field.stamp)
    return (later.was or "") >= earlier.stamp


def _note_concurrent(record: Stored, name: str, change: Change, old: Stamped) -> None:
    new, seen = change.field(name), change.seen
    if unaware(new, old, seen) or new.stamp == old.stamp:
        record.concurrent[name] = change.revision
    elif seen is not None and name in record.concurrent and seen >= record.concurrent[name]:
        # To know what stands here is not enough: a phone may have written twice on its own, and the second writing
        # knows as little of the others as the first. Whoever saw the mark itself has settled it.
        del record.concurrent[name]
