"""The phone in few lines, grown old: it outlives restores of its server, and servers older than itself."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import dataclass, field
from typing import Any

from holdwatch.records.kinds import SCHEMA_NUMBER
from holdwatch.records.merge import canonical
from sync.outbox import Entry, Fields, lay
from sync.phone import PythonPhone
from sync.pushing import whole_row


@dataclass
class LastingPhone(PythonPhone):
    """One phone that knows of epochs and of schema numbers."""

    schema: int = SCHEMA_NUMBER
    epoch: str | None = None
    bringing: str | None = None
    pulled: bool = False
    wholes: list[Entry] = field(default_factory=list)
    """What it held of each record when the server was set back, less what the server turned out to have."""
    later: list[tuple[int, Entry]] = field(default_factory=list)
    """What a server of that schema number did not know yet."""
    put_off: int = 0
    brought: int = 0
    along: dict[int, list[Entry]] = field(default_factory=dict)
    """By batch: what was brought back along with it."""
    asked_of: dict[int, str | None] = field(default_factory=dict)
    """By batch: the epoch that it was agreeing with when it asked."""

    def request(self, asking: bool, limit: int) -> tuple[int, dict[str, Any]]:
        """The next push; once all has come down, with what is to be brought back."""
        batch, push = super().request(asking, limit)
        going = [] if asking or not self.pulled else self.wholes[: limit - len(push["changes"])]
        self.along[batch], self.asked_of[batch] = deepcopy(going), self.bringing or self.epoch
        changes = [*push["changes"], *({**self._change(entry), "held": True} for entry in going)]
        return batch, {**push, "schema": self.schema, "epoch": self.epoch, "changes": changes}

    def take(self, batch: int, answer: dict[str, Any]) -> None:
        """Take in the answer, and find out from it whether the server was set back."""
        answer = {**answer, "rows": [whole_row(row) for row in answer["rows"]]}
        written = len(self.batches[batch])
        towards = self.bringing or self.epoch
        if towards not in (self.asked_of[batch], answer["epoch"]):
            # Of a time before the server was set back.
            return
        if is_set_back := towards is not None and answer["epoch"] != towards:
            # Before this answer changes any of what it held.
            self._lay_out(answer["epoch"])
        self.put_off, cursor = answer["schema"], self.cursor
        super().take(batch, {**answer, "verdicts": answer["verdicts"][:written]})
        for entry, verdict in zip(self.along[batch], answer["verdicts"][written:], strict=True):
            self._brought(entry, verdict)
        for row in answer["rows"] if self.bringing else []:
            self._cover(row)
        if is_set_back or self.asked_of[batch] != towards:
            # The page was asked for from where it had come to before; what lies below it is still to come.
            self.cursor = cursor
            return
        self.epoch = self.epoch or answer["epoch"]
        self.pulled = self.pulled or not answer["more"]
        if self.bringing and self.pulled and not self.wholes:
            self.epoch, self.bringing = self.bringing, None
        self._revive(answer["schema"])

    def waiting(self) -> int:
        """How many writes the server has not taken."""
        return len(self.outbox) + len(self.wholes) + len(self.later)

    def hold(self) -> dict[str, dict[str, Any]]:
        """All records as this phone shows them, by id."""
        shown = super().hold()
        for entry in [*self.wholes, *(entry for _, entry in self.later)]:
            lay(shown[entry.record]["fields"], entry.fields)
            shown[entry.record]["waiting"] += 1
        return shown

    def _judged(self, entry: Entry, verdict: dict[str, Any]) -> None:
        left = {name: entry.fields[name] for name in verdict["fields"]} if verdict["verdict"] == "later" else {}
        if left:
            put_off = deepcopy(entry)
            put_off.fields = left
            self.later.append((self.put_off, put_off))
            entry.fields = {name: written for name, written in entry.fields.items() if name not in left}
        super()._judged(entry, verdict)

    def _revive(self, schema: int) -> None:
        known = [entry for at, entry in self.later if at < schema]
        self.later = [(at, entry) for at, entry in self.later if at >= schema]
        self.outbox += known

    def _lay_out(self, epoch: str) -> None:
        before, self.wholes = self.wholes, []
        self.bringing, self.pulled, self.cursor = epoch, False, 0
        for record, row in self.rows.items():
            parts = [row["fields"], *(entry.fields for entry in before if entry.record == record)]
            held: Fields = {}
            for part in parts:
                lay(held, part)
            gone = {name: written for name, written in held.items() if name == "gone"}
            rest = {name: written for name, written in held.items() if name != "gone"}
            replaced = [{n: written for n, written in part.items() if not _has(held[n], written)} for part in parts]
            for part in filter(None, (rest, gone, *replaced)):
                self.entries += 1
                fields = {name: {**written, "was": None} for name, written in part.items()}
                self.wholes.append(Entry(self.entries, record, fields, None, 0, 0, 0, [], sent=True, corrected=True))
            row |= {"fields": {}, "revision": None}
        for entry in self.outbox:
            entry.seen = None

    def _brought(self, sent: Entry, verdict: dict[str, Any]) -> None:
        for entry in [entry for entry in self.wholes if entry.number == sent.number]:
            row = self.rows[entry.record]
            self.wholes.remove(entry)
            if verdict["verdict"] == "taken":
                self.brought += set(entry.fields) != {"gone"}
                lay(row["fields"], entry.fields)
            elif verdict["verdict"] == "refused" and not row["fields"]:
                # The server has nothing of it, so it stays here as it is.
                lay(row["fields"], entry.fields)
            assert verdict["verdict"] in ("taken", "refused"), verdict

    def _cover(self, row: dict[str, Any]) -> None:
        for entry in [entry for entry in self.wholes if entry.record == row["id"]]:
            entry.fields = {n: f for n, f in entry.fields.items() if not _has(row["fields"].get(n), f)}
            if not entry.fields:
                self.wholes.remove(entry)


def _has(there: dict[str, Any] | None, mine: dict[str, Any]) -> bool:
    """Whether this very writing stands there; what was replaced meanwhile may be lost."""
    if there is None:
        return False
    return (there["stamp"], canonical(there["value"])) == (mine["stamp"], canonical(mine["value"]))
