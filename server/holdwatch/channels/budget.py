"""A limit in time for all that one message needs: looking a name up, connecting, and an answer that comes drop by drop.

The timeouts of sockets begin anew with every octet, so a server that sends one now and then would hold us for hours.
When the time is up every line of the message is cut, whatever is going on.
"""

from __future__ import annotations

import os
import socket
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from contextvars import ContextVar
from time import monotonic
from types import TracebackType
from typing import TypeVar

Found = TypeVar("Found")

# The system offers no way to stop looking a name up: one that takes for ever holds one of these threads, and not us.
_ELSEWHERE = ThreadPoolExecutor(4, thread_name_prefix="lookup")


class Budget:
    """So many seconds from now; use it as a context, in which `current` finds it."""

    def __init__(self, seconds: float) -> None:
        self.until = monotonic() + seconds
        self._lines: list[socket.socket] = []
        self._lock = threading.Lock()
        self._bell = threading.Timer(seconds, self._cut)
        self._bell.daemon = True

    def __enter__(self) -> Budget:
        self._before = _CURRENT.set(self)
        self._bell.start()
        return self

    def __exit__(self, kind: type[BaseException] | None, fault: BaseException | None, at: TracebackType | None) -> None:
        self._bell.cancel()
        _CURRENT.reset(self._before)
        with self._lock:
            for line in self._lines:
                line.close()
            self._lines.clear()

    def left(self) -> float:
        """Seconds that are left; 0 where none are."""
        return max(self.until - monotonic(), 0.0)

    def hold(self, line: socket.socket) -> None:
        """Cut this line when the time is up."""
        # A descriptor of our own: TLS takes the socket's own away, and cutting one cuts the line of both.
        own = socket.socket(fileno=os.dup(line.fileno()))
        with self._lock:
            self._lines.append(own)
        if not self.left():
            self._cut()

    def wait_for(self, act: Callable[[], Found]) -> Found:
        """What `act` finds; TimeoutError if the time is up first."""
        return _ELSEWHERE.submit(act).result(self.left())

    def _cut(self) -> None:
        with self._lock:
            for line in self._lines:
                # The other side may have hung up by itself.
                with suppress(OSError):
                    line.shutdown(socket.SHUT_RDWR)


_CURRENT: ContextVar[Budget | None] = ContextVar("budget", default=None)


def current() -> Budget:
    """The budget of the message that is being sent."""
    found = _CURRENT.get()
    if found is None:
        raise LookupError("nothing is sent without a budget")
    return found
