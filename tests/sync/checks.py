"""What must hold of a household and its phones once all have come to rest."""

from __future__ import annotations

from collections.abc import Iterator

from holdwatch.records.instants import milliseconds, parse_instant
from sync.hands import TRACKED, Hand
from sync.household import Household
from sync.ledger import Place
from sync.phone import TOLERANCE_MS


def copies_are_equal(household: Household, hand: Hand) -> None:
    theirs, mine = household.rows(), hand.phone.hold()
    assert all(record["waiting"] == 0 for record in mine.values())
    names = ("kind", "author", "device", "revision", "fields", "concurrent")
    assert {record: {name: row[name] for name in names} for record, row in mine.items()} == {
        record: {name: row[name] for name in names} for record, row in theirs.items()
    }


def nothing_is_missing(household: Household) -> None:
    ledger = household.ledger
    lost = [e for e in ledger.edits.values() if e.value not in ledger.arrived[e.place] | ledger.mended]
    assert lost == []


def history_is_whole(household: Household) -> None:
    ledger, history, current = household.ledger, household.history(), household.current()
    assert len(history) == len(set(history))
    assert {(write.place, write.stamp, write.value) for write in ledger.taken} == current | {
        (write.place, write.stamp, write.value) for write in history
    }
    assert set(history) <= ledger.taken
    for place, stamp, value in current:
        writes = [(write.stamp, write.value) for write in ledger.taken if write.place == place]
        assert (stamp, value) == max(writes)
        assert (place, stamp, value) not in {(write.place, write.stamp, write.value) for write in history}


def marks_are_true(household: Household) -> None:
    for place, is_marked in _places(household):
        ledger = household.ledger
        heads = ledger.heads(place)
        if ledger.are_strangers(heads):
            assert is_marked, f"overruled in silence: {heads}"
        if ledger.was_judged_twice(place):
            # It knew of what was refused and followed on what stood before, or it is there under an older stamp also,
            # which others replaced: so it looks like a stranger.
            continue
        if is_marked:
            assert ledger.are_strangers(ledger.edits_taken(place)), f"marked for nothing: {place}"
        if len(heads) == 1 and heads[0].clean:
            assert not is_marked, f"not settled by who knew all: {heads}"


def _places(household: Household) -> Iterator[tuple[Place, bool]]:
    for record, row in household.rows().items():
        for name in TRACKED:
            yield (record, name), name in row["concurrent"]


def times_are_true(household: Household, hands: list[Hand]) -> None:
    """What was read from a clock that stood wrong until it was sent has been put right."""
    rows = household.rows()
    for hand in hands:
        for record in hand.dated:
            values = {name: field["value"] for name, field in rows[record]["fields"].items()}
            off_ms = abs(milliseconds(parse_instant(values["at"])) - hand.logged[record][0])
            assert off_ms <= TOLERANCE_MS or values.get("clock_doubtful")
