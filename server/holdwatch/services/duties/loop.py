"""The loop that works for ever: as a thread beside the server, or as a process of its own."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

from sqlalchemy.exc import OperationalError

PAUSE_SECONDS = 5.0
# A busy or absent database and a broken network pass; anything else is a fault of ours.
EXPECTED = (OperationalError, OSError)

log = logging.getLogger(__name__)


def run_forever(
    work_once: Callable[[], object],
    wake: threading.Event,
    stop: threading.Event,
    idle_seconds: float,
    pause_seconds: float = PAUSE_SECONDS,
) -> None:
    """Work, again at once while there is something to do, else when `wake` is set or `idle_seconds` have passed.

    Ends after the round in which `stop` is set; whoever sets it sets `wake` too. Each round runs as a future,
    which hands its exception over as a value: nothing is swallowed, it is logged and the round is tried again.
    """
    with ThreadPoolExecutor(1, thread_name_prefix="round") as rounds:
        while not stop.is_set():
            made = rounds.submit(work_once)
            problem = made.exception()
            if problem is not None:
                _tell(problem)
                stop.wait(pause_seconds)
            elif not made.result():
                wake.wait(idle_seconds)
                wake.clear()


def _tell(problem: BaseException) -> None:
    if isinstance(problem, EXPECTED):
        log.warning("this round will be tried again: %s", problem)
    else:
        log.error("this round failed by a fault of the program and will be tried again", exc_info=problem)
