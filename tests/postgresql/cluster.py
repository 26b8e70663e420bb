"""A PostgreSQL of the tests' own, in a folder of its own, reached by a socket in that folder and by nothing else."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg

LEAST = 15
USER = "holdwatch"
MISSING = (
    f"These tests need PostgreSQL {LEAST} or newer, which was not found. "
    "tests/run.py installs Debian's where it may; by hand, as root: apt-get install -y postgresql"
)


class Missing(Exception):
    """There is no PostgreSQL that could be started."""


def binaries() -> Path:
    """The folder of the newest PostgreSQL of this machine; Missing where there is none."""
    named = shutil.which("initdb")
    debians = Path("/usr/lib/postgresql").glob("*/bin/initdb")
    found = [Path(named).resolve()] if named else sorted(debians, key=lambda path: int(path.parts[-3]))
    if not found or _version(found[-1]) < LEAST:
        raise Missing(MISSING)
    return found[-1].parent


@contextmanager
def running() -> Iterator[str]:
    """A server that runs until the block ends; the address of its databases, where a name is to be put for `{}`."""
    programs = binaries()
    folder = Path(tempfile.mkdtemp(prefix="holdwatch-postgresql-"))
    try:
        with _server(programs, folder):
            yield f"postgresql+psycopg://{USER}@/{{}}?host={folder}"
    finally:
        shutil.rmtree(folder)


@contextmanager
def _server(programs: Path, folder: Path) -> Iterator[None]:
    who = _unprivileged(folder)
    # The order of ICU's English is none of code points: what we sort ourselves must not rest on it.
    order = ["--encoding=UTF8", "--locale=C", "--locale-provider=icu", "--icu-locale=en-US"]
    data = folder / "data"
    made = [programs / "initdb", "-D", data, "-U", USER, "--auth=trust", "--no-sync", *order]
    done = subprocess.run(made, **who, cwd=folder, capture_output=True, text=True)
    if done.returncode:
        raise RuntimeError(f"initdb failed: {done.stdout}{done.stderr}")
    options = ["-c", "fsync=off", "-c", "deadlock_timeout=200ms", "-c", "max_connections=60"]
    command = [programs / "postgres", "-D", data, "-k", folder, "-h", "", *options]
    with (folder / "log").open("w") as log:
        server = subprocess.Popen(command, **who, cwd=folder, stdout=log, stderr=log)
    try:
        _wait_for(folder, server)
        yield
    finally:
        # Its "immediate shutdown": nothing of it is wanted any more.
        server.send_signal(signal.SIGQUIT)
        server.wait(30)


def _unprivileged(folder: Path) -> dict[str, str]:
    """As whom it runs: it refuses to run as root."""
    if os.geteuid() != 0:
        return {}
    shutil.chown(folder, "nobody", "nogroup")
    return {"user": "nobody", "group": "nogroup"}


def _wait_for(folder: Path, server: subprocess.Popen) -> None:
    for _ in range(300):
        try:
            psycopg.connect(host=str(folder), user=USER, dbname="postgres").close()
            return
        except psycopg.OperationalError:
            if server.poll() is not None:
                break
            time.sleep(0.1)
    raise RuntimeError(f"PostgreSQL did not begin to answer: {(folder / 'log').read_text()[-2000:]}")


def _version(initdb: Path) -> int:
    said = subprocess.run([initdb, "--version"], capture_output=True, text=True, check=True).stdout
    return int(said.split()[2].partition(".")[0])
