"""A phone in few lines: its copy, its outbox, its stamps, and a clock that may be wrong.

It follows `sync.md` and shares no code with the client but the stamps and the merge, which have vectors of their own.
"""

from __future__ import annotations

from collections.abc import Iterable
from copy import deepcopy
from dataclasses import dataclass, field
from typing import Any, Protocol

from holdwatch.records.instants import from_milliseconds, instant_text, milliseconds, parse_instant
from holdwatch.records.merge import canonical
from holdwatch.records.stamps import Stamp, parse_stamp, tick
from sync.outbox import Entry, Fields, latest, lay
from sync.pushing import new_id, whole_row

TOLERANCE_MS = 120_000


class World(Protocol):
    """True time, in milliseconds since 1970."""

    now_ms: int


@dataclass
class PythonPhone:
    """One phone with one person signed in."""

    world: World
    device: str
    person: str
    ahead_ms: int = 0
    begun_ms: int = 0
    session: int = 0
    rows: dict[str, dict[str, Any]] = field(default_factory=dict)
    """The server's records, as far as they have come down, with what it has taken from here laid in."""
    outbox: list[Entry] = field(default_factory=list)
    batches: list[list[Entry]] = field(default_factory=list)
    latest: Stamp | None = None
    greatest: Stamp | None = None
    greatest_own: Stamp | None = None
    cursor: int = 0
    entries: int = 0

    @property
    def wall_ms(self) -> int:
        """What its clock shows."""
        return self.world.now_ms + self.ahead_ms

    @property
    def elapsed_ms(self) -> int:
        """Since the page was opened; no setting of the clock moves it."""
        return self.world.now_ms - self.begun_ms

    def restart(self) -> None:
        """Close the browser and open it again."""
        self.session += 1
        self.begun_ms = self.world.now_ms

    def discard(self) -> None:
        """Throw the phone away, which takes no more than to forget it."""

    def clock(self, ahead_ms: int) -> None:
        """Set the clock."""
        self.ahead_ms = ahead_ms

    def write(self, kind: str, fields: dict[str, Any]) -> str:
        """Add a record; a missing `at` is now by this phone's clock."""
        made = new_id()
        self.rows[made] = {"id": made, "kind": kind, "author": self.person, "device": self.device}
        self.rows[made] |= {"revision": None, "fields": {}, "concurrent": []}
        self._put(made, {"at": instant_text(from_milliseconds(self.wall_ms)), **fields})
        return made

    def edit(self, record: str, fields: dict[str, Any]) -> None:
        """Write new values of some fields; what is there already is left alone."""
        held = self._shown(record)
        changed = {n: v for n, v in fields.items() if n not in held or canonical(held[n]["value"]) != canonical(v)}
        if changed:
            self._put(record, changed)

    def mend(self, number: int, fields: dict[str, Any]) -> None:
        """Write a refused entry again, with some values changed."""
        (entry,) = [entry for entry in self.outbox if entry.number == number]
        self.outbox.remove(entry)
        self._put(entry.record, {name: written["value"] for name, written in entry.fields.items()} | fields)

    def attention(self) -> list[tuple[int, str, dict[str, Any]]]:
        """(number, record, values) of what was refused."""
        refused = [entry for entry in self.outbox if entry.reason is not None]
        return [(e.number, e.record, {name: written["value"] for name, written in e.fields.items()}) for e in refused]

    def hold(self) -> dict[str, dict[str, Any]]:
        """All records as this phone shows them, by id."""
        return {
            record: {**row, "fields": self._shown(record), "waiting": sum(e.record == record for e in self.outbox)}
            for record, row in self.rows.items()
        }

    def request(self, asking: bool, limit: int) -> tuple[int, dict[str, Any]]:
        """The next push of at most `limit` changes, having just learnt the server's time; none if only asking."""
        self._correct()
        entries = [] if asking else [entry for entry in self.outbox if entry.reason is None][:limit]
        for entry in entries:
            entry.sent = True
        self.batches.append(deepcopy(entries))
        changes = [self._change(entry) for entry in entries]
        push = {"schema": 1, "device": self.device, "cursor": self.cursor, "epoch": None, "changes": changes}
        return len(self.batches) - 1, push

    def take(self, batch: int, answer: dict[str, Any]) -> None:
        """Take in the answer to a batch, be it the first time or again."""
        for sent, verdict in zip(self.batches[batch], answer["verdicts"], strict=True):
            for entry in [e for e in self.outbox if e.number == sent.number and e.stamps() == sent.stamps()]:
                if entry.reason is None:
                    self._judged(entry, verdict)
        rows = [whole_row(row) for row in answer["rows"]]
        for row in rows:
            self._take_row(row)
        self.cursor = max(self.cursor, answer["cursor"])
        self._heard(field["stamp"] for row in rows for field in row["fields"].values())

    def _put(self, record: str, values: dict[str, Any]) -> None:
        self.latest = tick(self.latest, self.wall_ms, self.device)
        shown, stamp = self._shown(record), str(self.latest)
        was = {name: shown[name]["stamp"] if name in shown else None for name in values}
        fields = {name: {"value": value, "stamp": stamp, "was": was[name]} for name, value in values.items()}
        now = instant_text(from_milliseconds(self.wall_ms))
        clocked = [name for name, value in values.items() if value == now]
        self.entries += 1
        seen = self.rows[record]["revision"]
        entry = Entry(self.entries, record, fields, seen, self.wall_ms, self.session, self.elapsed_ms, clocked)
        self.outbox.append(entry)

    def _shown(self, record: str) -> Fields:
        fields = deepcopy(self.rows[record]["fields"])
        for entry in self.outbox:
            if entry.record == record:
                lay(fields, entry.fields)
        return fields

    def _change(self, entry: Entry) -> dict[str, Any]:
        row = self.rows[entry.record]
        identity = {name: row[name] for name in ("id", "kind", "author", "device")}
        return deepcopy({**identity, "seen": entry.seen, "fields": entry.fields})

    def _judged(self, entry: Entry, verdict: dict[str, Any]) -> None:
        if verdict["verdict"] == "clock":
            entry.sent, entry.returned = False, True
        elif verdict["verdict"] == "refused":
            entry.reason = verdict["reason"]
        else:
            self.outbox.remove(entry)
            lay(self.rows[entry.record]["fields"], entry.fields)
            self._heard(entry.stamps())

    def _take_row(self, row: dict[str, Any]) -> None:
        held = self.rows.setdefault(row["id"], {**row, "revision": None, "fields": {}})
        lay(held["fields"], row["fields"])
        if held["revision"] is None or row["revision"] >= held["revision"]:
            held |= {"revision": row["revision"], "concurrent": row["concurrent"]}

    def _heard(self, stamps: Iterable[str]) -> None:
        heard = [parse_stamp(stamp) for stamp in stamps]
        own = [stamp for stamp in heard if stamp.device == self.device]
        self.greatest = latest(self.greatest, *heard)
        self.greatest_own = latest(self.greatest_own, *own)
        self.latest = latest(self.latest, *heard)

    def _correct(self) -> None:
        """Before anything is sent: date and stamp anew what the clock cannot have said rightly."""
        renamed: dict[str | None, str] = {}
        floor, moved = self.greatest_own, False
        for entry in self.outbox:
            for written in entry.fields.values():
                written["was"] = renamed.get(written["was"], written["was"])
            if entry.reason is None and self._is_mistimed(entry):
                floor, moved = self._redate(entry, floor, renamed), True
            elif entry.reason is None:
                floor = latest(floor, *map(parse_stamp, entry.stamps()))
        if moved:
            # The clock falls back: a stamp from a year ahead must not drag all later ones with it.
            self.latest = latest(self.greatest, *filter(None, [floor]))

    def _is_mistimed(self, entry: Entry) -> bool:
        if entry.sent:
            return False
        ahead = max(parse_stamp(stamp).milliseconds for stamp in entry.stamps()) - self.world.now_ms
        wrong = abs(self.ahead_ms) > TOLERANCE_MS or entry.wall_ms - self.wall_ms > TOLERANCE_MS
        # What was found right once keeps its stamp: a late copy of that request may yet be taken.
        return ahead > TOLERANCE_MS or (wrong and not (entry.corrected or entry.returned))

    def _redate(self, entry: Entry, floor: Stamp | None, renamed: dict[str | None, str]) -> Stamp:
        true_ms = self._true_ms(entry)
        were = [parse_stamp(written["was"]) for written in entry.fields.values() if written["was"]]
        stamp = tick(latest(floor, *were), true_ms, self.device)
        renamed |= dict.fromkeys(entry.stamps(), str(stamp))
        shift_ms = true_ms - entry.wall_ms
        more = self._dated_anew(entry, shift_ms) if abs(shift_ms) > TOLERANCE_MS else {}
        for name, value in more.items():
            entry.fields.setdefault(name, {"was": None})["value"] = value
        for written in entry.fields.values():
            written["stamp"] = str(stamp)
        entry.wall_ms, entry.corrected = true_ms, True
        return stamp

    def _true_ms(self, entry: Entry) -> int:
        if entry.corrected:
            return min(entry.wall_ms, self.world.now_ms)
        if entry.session == self.session:
            return self.world.now_ms - (self.elapsed_ms - entry.elapsed_ms)
        return min(entry.wall_ms - self.ahead_ms, self.world.now_ms)

    def _dated_anew(self, entry: Entry, shift_ms: int) -> dict[str, Any]:
        values = {name: entry.fields[name]["value"] for name in entry.clocked}
        more = {
            n: instant_text(from_milliseconds(milliseconds(parse_instant(v)) + shift_ms)) for n, v in values.items()
        }
        doubtful = {"clock_doubtful": True} if values and entry.session != self.session else {}
        return more | doubtful | ({"at_phone": next(iter(values.values()))} if values else {})
