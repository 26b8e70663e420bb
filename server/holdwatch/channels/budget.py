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
from heapq import heappop, heappush
from itertools import count
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
        self._is_over = False

    def __enter__(self) -> Budget:
        self._before = _CURRENT.set(self)
        _BELL.ring_for(self)
        return self

    def __exit__(self, kind: type[BaseException] | None, fault: BaseException | None, at: TracebackType | None) -> None:
        self._is_over = True
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
            self.cut()

    def wait_for(self, act: Callable[[], Found]) -> Found:
        """What `act` finds; TimeoutError if the time is up first."""
        return _ELSEWHERE.submit(act).result(self.left())

    @property
    def is_over(self) -> bool:
        """Whether its message has come to its end before it did."""
        return self._is_over

    def cut(self) -> None:
        """Cut every line of the message."""
        with self._lock:
            for line in self._lines:
                # The other side may have hung up by itself.
                with suppress(OSError):
                    line.shutdown(socket.SHUT_RDWR)


class _Bell:
    """Cuts each budget when its time is up: one thread for all, where a timer would be a thread for each message."""

    def __init__(self) -> None:
        self._waiting: list[tuple[float, int, Budget]] = []
        self._numbers = count()
        self._changed = threading.Condition()
        self._thread: threading.Thread | None = None

    def ring_for(self, budget: Budget) -> None:
        """Cut it at its end, unless it is over by then."""
        with self._changed:
            # A process that was forked off has none of its parent's threads.
            if self._thread is None or not self._thread.is_alive():
                self._thread = threading.Thread(target=self._watch, name="bell", daemon=True)
                self._thread.start()
            # The number keeps two that end at once from being compared.
            heappush(self._waiting, (budget.until, next(self._numbers), budget))
            if self._waiting[0][2] is budget:
                self._changed.notify()

    def _watch(self) -> None:
        while True:
            self._next().cut()

    def _next(self) -> Budget:
        """The next one whose time is up; those that are over are let go of."""
        with self._changed:
            while True:
                while self._waiting and self._waiting[0][2].is_over:
                    heappop(self._waiting)
                left = self._waiting[0][2].left() if self._waiting else None
                if left == 0:
                    return heappop(self._waiting)[2]
                self._changed.wait(left)


_BELL = _Bell()
_CURRENT: ContextVar[Budget | None] = ContextVar("budget", default=None)


def current() -> Budget:
    """The budget of the message that is being sent."""
    found = _CURRENT.get()
    if found is None:
        raise LookupError("nothing is sent without a budget")
    return found
