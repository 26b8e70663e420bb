"""The real server in a process of its own, which a test may kill, and phones that speak to it by HTTP."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from holdwatch.records.stamps import Stamp
from holdwatch.services.access import Opened

SERVER = Path(__file__).parents[2] / "server"
PROGRAM = ("-m", "holdwatch.cli")
Unreachable = (OSError, HTTPException)
ANSWER_BYTES = 250_000


def free_port() -> int:
    """A port that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@contextmanager
def running_server(
    engine: sa.Engine, port: int, log: Path, program: Sequence[str] = PROGRAM
) -> Iterator[subprocess.Popen[bytes]]:
    """`holdwatch serve` on this database, answering; killed at the end if it has not been."""
    environ = {**os.environ, "HOLDWATCH_DATABASE": str(engine.url), "PYTHONPATH": str(SERVER)}
    environ |= {"HOLDWATCH_ORIGIN": f"http://127.0.0.1:{port}", "PYTHONWARNINGS": "error", "OPENBLAS_NUM_THREADS": "1"}
    command = [sys.executable, *program, "serve", "--port", str(port)]
    with log.open("ab") as output:
        process = subprocess.Popen(command, env=environ, stdout=output, stderr=output)
    try:
        _wait_until_it_answers(port, process, log)
        yield process
    finally:
        process.send_signal(signal.SIGKILL)
        process.wait()


@dataclass(frozen=True)
class Wire:
    """One phone's way to the server."""

    port: int
    opened: Opened

    def sync(self, changes: list[Any], cursor: int = 2**50) -> dict[str, Any]:
        """One round trip; one of `Unreachable` where the server went away."""
        connection = HTTPConnection("127.0.0.1", self.port, timeout=30)
        try:
            connection.request("POST", "/api/v1/sync", self.body(changes, cursor), self.headers())
            answer = connection.getresponse()
            body = answer.read()
        finally:
            connection.close()
        assert answer.status == 200, body[:300]
        return json.loads(body)

    def cut(self, changes: list[Any], cursor: int, sends: float = 1.0, reads: float = 0.0) -> None:
        """A round trip that breaks off after these shares of the question and of an answer of the usual size."""
        body = self.body(changes, cursor)
        host = {"Host": f"127.0.0.1:{self.port}", "Connection": "close", "Content-Length": str(len(body))}
        lines = self.headers() | host
        head = "".join(f"{name}: {value}\r\n" for name, value in lines.items())
        whole = f"POST /api/v1/sync HTTP/1.1\r\n{head}\r\n".encode() + body
        with socket.create_connection(("127.0.0.1", self.port), timeout=30) as connection:
            connection.sendall(whole[: int(len(whole) * sends)])
            left = int(ANSWER_BYTES * reads)
            while left > 0 and (got := connection.recv(left)):
                left -= len(got)

    def body(self, changes: list[Any], cursor: int) -> bytes:
        """The request's body."""
        asked = {"schema": 1, "device": "ab12cd34", "cursor": cursor, "epoch": None, "changes": changes}
        return json.dumps(asked).encode()

    def headers(self) -> dict[str, str]:
        """What a page of ours would send."""
        cookie = f"holdwatch={self.opened.cookie_value}"
        return {"Cookie": cookie, "Sec-Fetch-Site": "same-origin", "Content-Type": "application/json"}


def stamp_now(counter: int, device: str = "ab12cd34") -> str:
    """A stamp by the real clock, which the server in its own process goes by."""
    return str(Stamp(time.time_ns() // 1_000_000, counter % 0x10000, device))


def _wait_until_it_answers(port: int, process: subprocess.Popen[bytes], log: Path) -> None:
    for _ in range(600):
        assert process.poll() is None, log.read_text()[-2000:]
        try:
            with socket.create_connection(("127.0.0.1", port), timeout=1):
                return
        except OSError:
            time.sleep(0.05)
    raise AssertionError("the server did not begin to answer")
