"""A household on the real server in a process of its own, and phones of both makes that speak to it by HTTP."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.client import HTTPConnection
from http.cookies import SimpleCookie
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from holdwatch.services.access import Who
from people import PASSWORD
from sync.client_phone import ClientPhone, Node
from sync.lasting import LastingPhone
from sync.serving import PROGRAM, SERVER, free_port, running_server

LOGINS = {"owner": "ilka@reedmarsh.example", "keeper": "tamsin", "helper": "joris"}
# What clients of schema 2 are not told: what is empty, false, or known to them.
UNTOLD = {"database": None, "verdicts": [], "derived": [], "recomputing": False}


class RealWorld:
    """True time, which passes by itself."""

    @property
    def now_ms(self) -> int:
        """Now, in milliseconds since 1970."""
        return time.time_ns() // 1_000_000


class Refused(Exception):
    """The server refused a request."""

    def __init__(self, status: int, body: dict[str, Any]) -> None:
        self.status, self.code, self.message = status, body["error"]["code"], body["error"]["message"]
        super().__init__(f"{status} {self.code}: {self.message}")


@dataclass
class Hand:
    """A person with a phone at the server's door."""

    home: Home
    role: str
    who: Who
    phone: Any
    device: str
    cookie: str = ""

    def sign_in(self, login: str | None = None) -> None:
        """Come in by the password."""
        sent = {"login": login or LOGINS[self.role], "password": PASSWORD, "device": self.device}
        _, cookies = self.home.ask("POST", "/api/v1/sign-in", sent)
        self.cookie = f"holdwatch={cookies['holdwatch'].value}"

    def ask(self, method: str, path: str, sent: Any = None) -> Any:
        """One request with this phone's cookie."""
        return self.home.ask(method, path, sent, self.cookie)[0]

    def round_trip(self, limit: int = 500, asking: bool = False) -> tuple[dict[str, Any], dict[str, Any]]:
        """Ask once and take in the answer; both."""
        batch, request = self.phone.request(asking, limit)
        answer = UNTOLD | self.ask("POST", "/api/v1/sync", request)
        self.phone.take(batch, answer)
        return request, answer

    def agree(self, limit: int = 500) -> None:
        """Ask and answer until there is nothing to send or to fetch."""
        idle, epochs = 0, set()
        for _ in range(200):
            request, answer = self.round_trip(limit)
            epochs |= {request["epoch"], answer["epoch"]} - {None}
            idle = 0 if request["changes"] or answer["more"] else idle + 1
            # After a restore the first answers only tell what the server lacks.
            if idle == (3 if len(epochs) > 1 else 1):
                return
        raise AssertionError("phone and server did not come to agree")


@dataclass
class Home:
    """The server, its database, and everybody's phone."""

    engine: sa.Engine
    log: Path
    port: int = field(default_factory=free_port)
    hands: dict[str, Hand] = field(default_factory=dict)
    world: RealWorld = field(default_factory=RealWorld)

    @property
    def database(self) -> Path:
        """The database's file."""
        return Path(str(self.engine.url.database))

    def serve(self, *program: str) -> Any:
        """The server, until the block ends; another program than ours if one is named."""
        self.engine.dispose()
        running = running_server(self.engine, self.port, self.log, program or PROGRAM)
        return stopping(running, self.engine)

    def hand(self, name: str, role: str, who: Who, node: Node | None) -> Hand:
        """Give a person a phone, of the client's make where Node runs one, else of the model's."""
        if node is not None:
            phone: Any = ClientPhone(node, self.world, who)
            device = phone._ask("self")["value"]["device"]
        else:
            device = f"phone{len(self.hands):03}"
            phone = LastingPhone(self.world, device, who.person_id)
        self.hands[name] = Hand(self, role, who, phone, device)
        return self.hands[name]

    def ask(self, method: str, path: str, sent: Any, cookie: str = "") -> tuple[Any, SimpleCookie]:
        """One request as a page of ours makes it; Refused where the server does."""
        connection = HTTPConnection("127.0.0.1", self.port, timeout=30)
        headers = {"Sec-Fetch-Site": "same-origin", "Content-Type": "application/json", "Cookie": cookie}
        try:
            connection.request(method, path, None if sent is None else json.dumps(sent), headers)
            answer = connection.getresponse()
            body = answer.read()
        finally:
            connection.close()
        if answer.status >= 300:
            raise Refused(answer.status, json.loads(body))
        return json.loads(body) if body else None, SimpleCookie(answer.getheader("Set-Cookie") or "")

    def command(self, *words: str | Path) -> str:
        """One of the commands, in a process of its own; what it prints."""
        environ = {**os.environ, "HOLDWATCH_DATABASE": str(self.engine.url), "PYTHONPATH": str(SERVER)}
        environ |= {"HOLDWATCH_ORIGIN": f"http://127.0.0.1:{self.port}", "PYTHONWARNINGS": "error"}
        command = [sys.executable, "-m", "holdwatch.cli", *map(str, words)]
        done = subprocess.run(command, env=environ, capture_output=True, text=True, timeout=120)
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    def all_agree(self, names: Sequence[str] = ()) -> None:
        """Let these phones agree one after another, twice, so that each has seen what the last one sent."""
        for _ in range(2):
            for name in names or self.hands:
                self.hands[name].agree()


@contextmanager
def stopping(server: Any, engine: sa.Engine) -> Iterator[subprocess.Popen[bytes]]:
    """Stop the server as whoever runs it does, and leave nobody with the database open."""
    with server as process:
        yield process
        engine.dispose()
        process.send_signal(signal.SIGINT)
        process.wait(30)
