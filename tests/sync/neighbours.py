"""Phones and servers of neighbouring versions, and what they hold."""

from __future__ import annotations

import json
from collections.abc import Callable
from contextlib import ExitStack
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from holdwatch.records.kinds import SCHEMA_NUMBER
from holdwatch.store.database import writing
from people import settle
from sync.client_phone import Node, running_node
from sync.home import Hand, Home
from sync.pushing import rows

NEIGHBOUR = str(Path(__file__).with_name("neighbouring_server.py"))
PHOTO = {"sha256": "ab" * 32, "bytes": 1000, "width": 40, "height": 30}
SCHEMAS = {"older": 1, "previous": 2, "present": SCHEMA_NUMBER, "newer": SCHEMA_NUMBER + 1}
MAKES = ["model", "client"]


class Nodes:
    """The processes of the client's phones, one for each version, started when they are asked for."""

    def __init__(self, stack: ExitStack) -> None:
        self.stack, self.running = stack, dict[str, Node]()

    def of(self, version: str) -> Node:
        """The process for `present`, `newer`, `previous` or `older` phones."""
        if version not in self.running:
            named = () if version == "present" else (version,)
            self.running[version] = self.stack.enter_context(running_node(*named))
        return self.running[version]


def movers(home: Home, nodes: Nodes, password_hash: str) -> Callable[..., Hand]:
    """What gives one of the three people a phone of this make and version."""
    with writing(home.engine) as db:
        people = settle(db, password_hash, datetime.now(UTC))

    def move(role: str, make: str, version: str = "present") -> Hand:
        hand = home.hand(role, role, getattr(people, role).who, nodes.of(version) if make == "client" else None)
        if make == "model":
            hand.phone.schema = SCHEMAS[version]
        return hand

    return move


def older_server(home: Home) -> Any:
    return home.serve(NEIGHBOUR, "older")


def previous_server(home: Home) -> Any:
    return home.serve(NEIGHBOUR, "previous")


def newer_server(home: Home) -> Any:
    return home.serve(NEIGHBOUR, "newer")


def held(home: Home, hand: Hand) -> dict[str, dict[str, Any]]:
    """What the server has, by id."""
    found = json.loads(json.dumps(rows(home.engine, hand.who)))
    home.engine.dispose()
    return {record: {name: field["value"] for name, field in row["fields"].items()} for record, row in found.items()}


def shown(hand: Hand, record: str) -> dict[str, Any]:
    return {name: field["value"] for name, field in hand.phone.hold()[record]["fields"].items()}


def waiting(hand: Hand) -> int:
    phone = hand.phone
    return phone.waiting() if hasattr(phone, "waiting") else phone._ask("waiting")["value"]


def exported(hand: Hand) -> set[str]:
    """Names of the fields that a phone of the client's would export of what has not gone up."""
    return {name for entry in hand.phone._ask("hold")["writes"] for name in entry["fields"]}
