"""Whose turn it is to write: the threads of one process in the order in which they came.

SQLite lets one write at a time, and whoever finds it held sleeps and tries again: one that writes without a pause could
keep another out until its patience ends.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Lock


class Turns:
    """A queue of threads; the first of it has its turn."""

    def __init__(self) -> None:
        self._guard = Lock()
        self._queue: deque[Lock] = deque()

    @contextmanager
    def one(self, patience_seconds: float) -> Iterator[None]:
        """Have a turn once all who came before have had theirs; or without one where that takes too long.

        Whoever has lost patience asks the database itself, which says that it is busy, or is not.
        """
        mine = self._stand_in_line()
        try:
            mine.acquire(timeout=patience_seconds)
            yield
        finally:
            self._leave(mine)

    def _stand_in_line(self) -> Lock:
        """A lock that opens when it is one's turn."""
        mine = Lock()
        with self._guard:
            if self._queue:
                mine.acquire()
            self._queue.append(mine)
        return mine

    def _leave(self, mine: Lock) -> None:
        with self._guard:
            was_first = self._queue[0] is mine
            self._queue.remove(mine)
            if was_first and self._queue:
                self._queue[0].release()
