"""What the benches of sync send: looks of eight fields as a household writes them, and edits of two fields each.

Ids, times and words differ from look to look as they would in life, so that gzip finds no more to leave out than it
would there; a few males hold at a time, with a hundred looks each. The looks are about broods that the server
does not know (yet), as it may well be: otherwise it would go on to make forecasts of broods with a hundred looks each,
and these are benches of sync.
"""

from __future__ import annotations

import json
import random
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from hashlib import md5
from typing import Any

from holdwatch.records.ids import RANDOM_BITS, record_id
from holdwatch.records.instants import from_milliseconds, instant_text, milliseconds
from holdwatch.records.stamps import Stamp
from holdwatch.services.access import Who
from sync.pushing import values, written

LOOKS_A_BROOD = 100
HOLDING_AT_A_TIME = 4
APART_MS = 90_000
DEVICE = "ab12cd34"
CHOICES = {
    "light": ["red", "red", "red", "dim_white", "daylight"],
    "mouth": ["full", "full", "smaller", "normal"],
    "eggs": ["orange", "turning", "silver", "none"],
    "tails": ["seen", "perhaps", "none"],
    "food": ["ignored", "ignored", "spat", "ate"],
}
WORDS = (
    "by left right urchin rock corner turned away slow calm head up hiding chews front glass back cave light".split()
)


def looks(who: Who, count: int, seed: int = 20261125) -> list[dict[str, Any]]:
    """So many new looks, the last of them a minute ago."""
    dice = random.Random(seed)
    first_ms = milliseconds(datetime.now(UTC)) - count * APART_MS
    spawns = range(count // LOOKS_A_BROOD + HOLDING_AT_A_TIME)
    broods = [record_id(first_ms, dice.getrandbits(RANDOM_BITS)) for _ in spawns]
    return [
        _look(who, dice, _held(broods, n), first_ms + n * APART_MS + dice.randrange(APART_MS // 2))
        for n in range(count)
    ]


def _held(broods: Sequence[str], number: int) -> Sequence[str]:
    """The broods that are held when that look is made."""
    first = number // LOOKS_A_BROOD
    return broods[first : first + HOLDING_AT_A_TIME]


def _look(who: Who, dice: random.Random, broods: Sequence[str], at_ms: int) -> dict[str, Any]:
    seen = {name: dice.choice(choices) for name, choices in CHOICES.items()}
    about, at = dice.choice(broods), instant_text(from_milliseconds(at_ms))
    fields = {"at": at, "about": about, **seen, "note": _note(dice)}
    # In the order in which the client lays them down.
    identity = {"id": record_id(at_ms, dice.getrandbits(RANDOM_BITS)), "kind": "look", "author": who.person_id}
    return {**identity, "device": DEVICE, "seen": None, "fields": written(fields, str(Stamp(at_ms, 0, DEVICE)))}


def edits(made: Sequence[dict[str, Any]], revisions: dict[str, int], seed: int = 7) -> list[dict[str, Any]]:
    """Two fields of each look written anew, by somebody who had seen what he replaces."""
    dice = random.Random(seed)
    return [_edit(one, revisions.get(one["id"]), dice) for one in made]


def _edit(one: dict[str, Any], seen: int | None, dice: random.Random) -> dict[str, Any]:
    (was,) = {field["stamp"] for field in one["fields"].values()}
    now = str(Stamp(int(was[:13]) + dice.randrange(APART_MS // 3), 0, DEVICE))
    mouth = dice.choice([mouth for mouth in CHOICES["mouth"] if mouth != one["fields"]["mouth"]["value"]])
    return {**one, "seen": seen, "fields": written({"mouth": mouth, "note": _note(dice)}, now, was)}


def _note(dice: random.Random) -> str:
    return " ".join(dice.choice(WORDS) for _ in range(4))


def document(change: dict[str, Any], before: dict[str, Any] | None = None) -> dict[str, Any]:
    """The same as a document of the peer's, whole though two fields change, with the revision that a phone gives it."""
    whole = (values(before) if before else {}) | values(change)
    parents = [document(before)["_rev"][2:]] if before else []
    own = md5(json.dumps([parents, whole]).encode(), usedforsecurity=False).hexdigest()
    generation = 1 + len(parents)
    revisions = {"start": generation, "ids": [own, *parents]}
    return {"_id": change["id"], "_rev": f"{generation}-{own}", "_revisions": revisions, **whole}


def in_batches(all_of_them: Sequence[Any], size: int) -> Iterator[Sequence[Any]]:
    """So many at a time."""
    return (all_of_them[start : start + size] for start in range(0, len(all_of_them), size))


def as_json(value: Any) -> bytes:
    """JSON as browsers write it."""
    return json.dumps(value, separators=(",", ":"), ensure_ascii=False).encode()
