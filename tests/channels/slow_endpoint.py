"""Push services that waste our time: each gives a little, again and again, and never comes to an end."""

from __future__ import annotations

import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import suppress
from itertools import chain, repeat

PAUSE_SECONDS = 0.03
HEAD = b"HTTP/1.1 201 Created\r\n"


def octets(text: bytes) -> Iterator[bytes]:
    """One octet after another."""
    return (bytes([octet]) for octet in text)


# What each of them says, bit by bit, once it has a line.
WAYS: dict[str, Callable[[], Iterator[bytes]]] = {
    "says nothing": lambda: repeat(b""),
    "a status line without end": lambda: chain(octets(b"HTTP/1.1 201 "), repeat(b"x")),
    "one header without end": lambda: chain([HEAD, b"X-Long: "], repeat(b"x")),
    "headers without end": lambda: chain([HEAD], repeat(b"X-More: x\r\n")),
    "continue, and continue": lambda: repeat(b"HTTP/1.1 100 Continue\r\n\r\n"),
    "a head that comes at last, octet by octet": lambda: octets(HEAD + b"X-Slow: " + b"x" * 500 + b"\r\n\r\n"),
    # RFC 8446, 5.1: a record of a handshake, 16,384 octets of which are to come.
    "a TLS record without end": lambda: chain([b"\x16\x03\x03\x40\x00\x02\x00\x3f\xfc"], repeat(b"\0")),
}


class SlowEndpoint:
    """Listens on a loopback port in a thread of its own; use it as a context."""

    def __init__(self, way: str, scheme: str = "http") -> None:
        self.way = way
        self.listener = socket.create_server(("127.0.0.1", 0))
        self.endpoint = f"{scheme}://127.0.0.1:{self.listener.getsockname()[1]}/push/ada"
        self.stop = threading.Event()
        self.hung_up = threading.Event()
        self.thread = threading.Thread(target=self._serve, daemon=True)

    def __enter__(self) -> SlowEndpoint:
        self.thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.stop.set()
        self.listener.close()
        self.thread.join()

    def _serve(self) -> None:
        with suppress(OSError):
            line, _ = self.listener.accept()
            with line:
                self._waste(line)

    def _waste(self, line: socket.socket) -> None:
        try:
            for said in WAYS[self.way]():
                line.sendall(said)
                if self._is_over(line):
                    break
        except OSError:
            pass
        self.hung_up.set()

    def _is_over(self, line: socket.socket) -> bool:
        """Whether the test has ended, or the other side hung up; it takes a while to know."""
        line.settimeout(PAUSE_SECONDS)
        try:
            return line.recv(65536) == b"" or self.stop.is_set()
        except TimeoutError:
            return self.stop.is_set()
