"""Lines to a push service are kept for the next message, and what is asked on them is exactly the endpoint."""

from __future__ import annotations

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field, replace
from time import monotonic, sleep

import pytest

from channels.push_endpoint import PushEndpoint
from channels.test_push import KEY, NOW, address, message
from holdwatch.channels import direct
from holdwatch.channels.budget import Budget
from holdwatch.channels.endpoints import EndpointRules
from holdwatch.channels.push import PushChannel

TAKEN = b"HTTP/1.1 201 Created\r\n"


@dataclass
class Service:
    """A push service that gives one answer to everybody; the lines it had, and what was asked on them."""

    answer: bytes
    lines: int = 0
    asked: list[str] = field(default_factory=list)
    port: int = 0


@contextmanager
def service(answer: bytes) -> Iterator[Service]:
    """Listens on a loopback port in threads of its own."""
    found = Service(answer)
    with socket.create_server(("127.0.0.1", 0)) as listener:
        found.port = listener.getsockname()[1]
        threading.Thread(target=_accept, args=(listener, found), daemon=True).start()
        yield found


def _accept(listener: socket.socket, found: Service) -> None:
    with suppress(OSError):
        while True:
            line, _ = listener.accept()
            found.lines += 1
            threading.Thread(target=_serve, args=(line, found), daemon=True).start()


def _serve(line: socket.socket, found: Service) -> None:
    with suppress(OSError), line, line.makefile("rb") as lines:
        while first := lines.readline():
            length = 0
            while (header := lines.readline()) not in (b"\r\n", b""):
                name, _, value = header.partition(b":")
                length = int(value) if name.lower() == b"content-length" else length
            lines.read(length)
            found.asked.append(first.decode().strip())
            line.sendall(found.answer)


@pytest.fixture
def channel() -> PushChannel:
    return PushChannel(KEY, "mailto:operator@example.org", "https://watch.example.org", EndpointRules(loopback=True))


@pytest.fixture
def phone():
    with PushEndpoint() as endpoint:
        yield address(endpoint.phone("ada"))


@pytest.mark.parametrize(
    ("answer", "lines"),
    [
        (TAKEN + b"Content-Length: 0\r\n\r\n", 1),
        (TAKEN + b"Content-Length: 4\r\n\r\nfine", 1),
        (TAKEN + b"Transfer-Encoding: chunked\r\n\r\n0\r\n\r\n", 1),
        # A line on which more may come is of no more use.
        (TAKEN + b"Content-Length: 5000\r\n\r\n" + b"x" * 5000, 4),
        (TAKEN + b"Content-Length: 5000\r\n\r\n" + b"x" * 100, 4),
        (TAKEN + b"Connection: close\r\nContent-Length: 0\r\n\r\n", 4),
    ],
)
def test_a_line_is_kept_once_its_answer_is_read_to_the_end(channel, phone, answer, lines):
    with service(answer) as there:
        phone = replace(phone, endpoint=f"http://127.0.0.1:{there.port}/push")
        assert [channel.send(phone, message(), NOW).result for _ in range(4)] == ["sent"] * 4
    assert (there.lines, len(there.asked)) == (lines, 4)


def test_a_line_that_lay_idle_is_not_trusted(channel, phone, monkeypatch):
    monkeypatch.setattr(direct, "KEPT_SECONDS", 0.05)
    with service(TAKEN + b"Content-Length: 0\r\n\r\n") as there:
        phone = replace(phone, endpoint=f"http://127.0.0.1:{there.port}/push")
        for _ in range(2):
            assert channel.send(phone, message(), NOW).result == "sent"
            sleep(0.1)
    assert there.lines == 2


@pytest.mark.parametrize("path", ["/push/ada", "//other.example.net/ada", "/a%2Fb?token=1&x=a/b", "", "?only=query"])
def test_what_is_asked_for_is_exactly_the_endpoint(channel, phone, path):
    with service(TAKEN + b"Content-Length: 0\r\n\r\n") as there:
        phone = replace(phone, endpoint=f"http://127.0.0.1:{there.port}{path}#part")
        assert channel.send(phone, message(), NOW).result == "sent"
    wanted = path if path.startswith("/") else f"/{path}"
    assert there.asked == [f"POST {wanted} HTTP/1.1"]


def test_each_of_many_budgets_ends_at_its_own_time_by_one_thread():
    before, cut = threading.active_count(), {}

    class Noted(Budget):
        def cut(self) -> None:
            cut[self] = monotonic()
            super().cut()

    held = [Noted(seconds) for seconds in (0.9, 0.3, 0.6)]
    for budget in held:
        budget.__enter__()
    assert threading.active_count() <= before + 1
    with Noted(0.4) as over:
        pass
    sleep(1.2)
    for budget in reversed(held):
        budget.__exit__(None, None, None)
    assert over not in cut
    assert [0 <= cut[budget] - budget.until < 0.25 for budget in held] == [True] * 3
