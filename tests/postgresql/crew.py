"""Two workers in processes of their own, which a test kills and starts anew."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

import sqlalchemy as sa

from postgresql.leases import has_gone
from sync.serving import PROGRAM, SERVER

PLACES = ("left", "right")
PATIENCE_SECONDS = 120.0


def wait_until(come: Callable[[], bool], what: str, seconds: float = PATIENCE_SECONDS) -> None:
    """Return as soon as it has come; TimeoutError if it never does."""
    end = time.monotonic() + seconds
    while not come():
        if time.monotonic() > end:
            raise TimeoutError(f"waited {seconds:.0f} s in vain: {what}")
        time.sleep(0.02)


@dataclass
class Crew:
    """`holdwatch work` in both places. Each life has a name of its own, by which its database and its messages tell it.

    The name is that of its connections, and the contact that it gives to push services.
    """

    engine: sa.Engine
    folder: Path
    living: dict[str, tuple[str, subprocess.Popen[bytes]]] = field(default_factory=dict)
    dead: list[str] = field(default_factory=list)

    def __enter__(self) -> Crew:
        return self

    def __exit__(self, *_: object) -> None:
        self.kill(*self.living)

    def start(self, *places: str) -> None:
        """Start a worker in each of these."""
        for place in places:
            self._start(place)

    def kill(self, *places: str) -> None:
        """Kill these at once; the database has let go of them afterwards."""
        for place in places:
            self.living[place][1].kill()
        for place in places:
            name, process = self.living.pop(place)
            assert process.wait() == -signal.SIGKILL, f"{name} ended by itself: {self.words()}"
            wait_until(partial(has_gone, self.engine, name), f"the database to let go of {name}")
            self.dead.append(name)

    def name(self, place: str) -> str:
        """Who lives there now."""
        return self.living[place][0]

    def words(self) -> str:
        """All that any of them has written to its log."""
        return "".join(path.read_text() for path in sorted(self.folder.glob("*.log")))

    def _start(self, place: str) -> None:
        name = f"{place}-{len(self.dead) + len(self.living)}"
        environ = {**os.environ, "PYTHONPATH": str(SERVER), "PYTHONWARNINGS": "error", "OPENBLAS_NUM_THREADS": "1"}
        environ |= {"HOLDWATCH_DATABASE": str(self.engine.url), "HOLDWATCH_PHOTOS": str(self.folder / "photos")}
        environ |= {"HOLDWATCH_PUSH_LOOPBACK": "yes", "HOLDWATCH_CONTACT": f"mailto:{name}@example.org"}
        environ["PGAPPNAME"] = name
        with (self.folder / f"{name}.log").open("wb") as log:
            process = subprocess.Popen([sys.executable, *PROGRAM, "work"], env=environ, stdout=log, stderr=log)
        self.living[place] = name, process
