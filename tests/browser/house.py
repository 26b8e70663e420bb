"""Starts and stops the test's server, and moves its clock and the browser's together."""

from __future__ import annotations

import os
import re
import shutil
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

from playwright.sync_api import BrowserContext, Page

ROOT = Path(__file__).parents[2]
CLIENT = Path(os.environ.get("HOLDWATCH_CLIENT", ROOT / "webclient" / "dist"))
FLAGS = (
    "--no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking "
    "--disable-component-update --disable-sync"
).split()
ZONE = "Europe/Copenhagen"
# 18:30 there: the lamps are on, whatever the hour at which the tests run.
DAYTIME = datetime(2026, 11, 25, 17, 30, tzinfo=UTC)


class House:
    """A running server, its address, and what it printed."""

    def __init__(self, folder: Path, start: datetime, client: Path | None = None) -> None:
        built = client or CLIENT
        assert (built / "index.html").is_file(), "the client is not built: run `npm run build` in webclient first"
        self.folder, self.clock, self.said = folder, folder / "clock", []
        # A copy, so that a test may put a newer client in its place.
        self.client = shutil.copytree(built, folder / "client", dirs_exist_ok=True)
        self.port = _free_port()
        self.origin = f"http://127.0.0.1:{self.port}"
        self.set_clock(start)

    def set_clock(self, instant: datetime) -> None:
        """Let it be `instant` on the server, and go on from there."""
        unfinished = self.clock.with_suffix(".new")
        unfinished.write_text(str((instant - datetime.now(UTC)).total_seconds()))
        os.replace(unfinished, self.clock)

    def now(self) -> datetime:
        """What the server's clock shows."""
        return datetime.now(UTC) + timedelta(seconds=float(self.clock.read_text()))

    def environ(self) -> dict[str, str]:
        """The server's settings."""
        own = {
            "HOLDWATCH_DATABASE": f"sqlite:///{self.folder / 'holdwatch.sqlite3'}",
            "HOLDWATCH_ORIGIN": self.origin,
            "HOLDWATCH_CLIENT": str(self.client),
            "HOLDWATCH_PUSH_LOOPBACK": "yes",
            "PYTHONPATH": str(ROOT / "server"),
            "PYTHONUNBUFFERED": "1",
        }
        return {**os.environ, **own}

    def setup_address(self) -> str:
        """The one-time address that the server printed."""
        return next(found[0] for line in self.said if (found := re.search(r"http\S+/setup#\S+", line)))

    def pass_time(self, context: BrowserContext, **ahead: float) -> None:
        """Move the server's clock and the browser's on by as much."""
        step = timedelta(**ahead)
        self.set_clock(self.now() + step)
        context.clock.fast_forward(int(step.total_seconds() * 1000))


@contextmanager
def running(folder: Path, start: datetime, *options: str, client: Path | None = None) -> Iterator[House]:
    """A server on an empty database in `folder`, or with `--example` on a household there; killed at the end."""
    house = House(folder, start, client)
    with serving(house, *options):
        yield house


@contextmanager
def serving(house: House, *options: str) -> Iterator[None]:
    """The house's server, killed at the end; it may be started again at the same address."""
    command = [sys.executable, str(Path(__file__).with_name("served.py")), str(house.port), str(house.clock), *options]
    server = subprocess.Popen(command, env=house.environ(), stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    up = threading.Event()
    listener = threading.Thread(target=_listen, args=(server, house, up))
    listener.start()
    try:
        assert up.wait(60) and server.poll() is None, "".join(house.said)
        _wait_until_it_answers(house)
        yield
    finally:
        server.kill()
        server.wait()
        listener.join()
        server.stdout.close()


def _listen(server: subprocess.Popen, house: House, up: threading.Event) -> None:
    for line in server.stdout:
        house.said.append(line)
        if "Stop with" in line:
            up.set()
    up.set()


def _wait_until_it_answers(house: House) -> None:
    for _ in range(200):
        with socket.socket() as knock:
            if knock.connect_ex(("127.0.0.1", house.port)) == 0:
                return
        threading.Event().wait(0.05)
    raise AssertionError("".join(house.said))


def until(page: Page, expression: str, seconds: float = 20) -> None:
    """Wait until the expression is true in the page; playwright's own way is an `eval`, which our policy forbids."""
    end = time.monotonic() + seconds
    while not page.evaluate(expression):
        assert time.monotonic() < end, f"never true: {expression}"
        page.wait_for_timeout(50)


def sign_in(page: Page, origin: str, login: str, password: str) -> None:
    """Sign in by the page that is there for it."""
    page.goto(f"{origin}/sign-in")
    page.get_by_label("Sign-in name").fill(login)
    page.locator("input[type=password]").fill(password)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(f"{origin}/")


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]
