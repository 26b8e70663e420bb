"""The client's own store as a phone of the machine: TypeScript, run by Node, spoken to in lines of JSON."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from typing import Any

from holdwatch.services.access import Who
from sync.household import World

WEBCLIENT = Path(__file__).parents[2] / "webclient"
_KEYS = count(1)


@dataclass
class Node:
    """The process in which all phones of the client live."""

    process: subprocess.Popen[str]

    def ask(self, **asked: Any) -> dict[str, Any]:
        """One line there, one line back."""
        assert self.process.stdin and self.process.stdout
        self.process.stdin.write(json.dumps(asked) + "\n")
        self.process.stdin.flush()
        answer = json.loads(self.process.stdout.readline())
        if not answer.pop("ok"):
            raise AssertionError(f"the phone could not {asked['op']}: {answer}")
        return answer


@contextmanager
def running_node(*version: str) -> Iterator[Node]:
    """Start Node on the client's sources, or on those of a `newer`, `previous` or `older` client; end it afterwards."""
    command = ["node", "tests/machine.mjs", *version]
    with subprocess.Popen(command, cwd=WEBCLIENT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        yield Node(process)
        assert process.stdin
        process.stdin.close()
        assert process.wait(30) == 0


class ClientPhone:
    """One phone of the client's."""

    def __init__(self, node: Node, world: World, who: Who) -> None:
        self.node, self.world, self.key = node, world, str(next(_KEYS))
        household = {"id": who.household_id, "name": "Reedmarsh Lane"}
        person = {"id": who.person_id, "name": who.role, "role": who.role, "household": household}
        self._ask("new_device", seed=int(self.key), person=person)

    def write(self, kind: str, fields: dict[str, Any]) -> str:
        """Add a record; its id."""
        return self._ask("write", kind=kind, fields=fields)["record"]["id"]

    def edit(self, record: str, fields: dict[str, Any]) -> None:
        """Write new values of some fields."""
        self._ask("edit", id=record, fields=fields)

    def mend(self, number: int, fields: dict[str, Any]) -> None:
        """Write a refused entry again, with some values changed."""
        self._ask("mend", id=number, fields=fields)

    def attention(self) -> list[tuple[int, str, dict[str, Any]]]:
        """(number, record, values) of what was refused."""
        return [(entry["id"], entry["record"], entry["fields"]) for entry in self._ask("attention")["value"]]

    def hold(self) -> dict[str, dict[str, Any]]:
        """All records as this phone shows them, by id."""
        return {record["id"]: record for record in self._ask("hold")["records"]}

    def request(self, asking: bool, limit: int) -> tuple[int, dict[str, Any]]:
        """The next push of at most `limit` changes."""
        answer = self._ask("outbox", asking=asking, limit=limit)
        return answer["batch"], answer["request"]

    def take(self, batch: int, answer: dict[str, Any]) -> None:
        """Take in the answer to a batch."""
        self._ask("take", batch=batch, answer=answer)

    def clock(self, ahead_ms: int) -> None:
        """Set the clock."""
        self._ask("clock", ahead=ahead_ms)

    def restart(self) -> None:
        """Close the browser and open it again."""
        self._ask("restart")

    def discard(self) -> None:
        """Throw the phone away: thousands of them would not fit into memory."""
        self._ask("discard")

    def _ask(self, op: str, **more: Any) -> dict[str, Any]:
        self.node.ask(op="time", now=self.world.now_ms)
        return self.node.ask(op=op, phone=self.key, **more)
