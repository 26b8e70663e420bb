"""Sets up what the tests need and runs every one of them: `python3 tests/run.py [--proof]`."""

from __future__ import annotations

import argparse
import os
import shutil
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "deploy"))

from setting_up import CLIENT, CannotGoOn, check_python, client, environment, node_modules, run, say  # noqa: E402

# The arithmetic takes most of the time and shares out well, file by file; a browser wants the machine for itself.
PARTS = (
    ("Python", ["tests", "--ignore=tests/browser", "--numprocesses=2", "--dist=loadfile", "--benchmark-disable"]),
    ("The browser", ["tests/browser"]),
)
# Two processes at once would otherwise start a thread a core each behind numpy.
ONE_THREAD = {"OPENBLAS_NUM_THREADS": "1"}
BROWSERS = ("chromium", "chromium-browser", "google-chrome")


def main() -> int:
    """Prepare, then run the Python, TypeScript and browser tests; the exit code is 0 if all passed."""
    asked = _arguments()
    began = time.monotonic()
    try:
        check_python()
        binaries = environment("test-venv", "requirements-test.lock")
        browser = _chromium()
        _postgresql()
        node_modules()
        client()
        proof = {"HOLDWATCH_PROOF": "1"} if asked.proof else {}
        say("TypeScript: types, then tests")
        run(["npm", "run", "--silent", "check"], cwd=CLIENT)
        run(["npm", "test", "--silent"], cwd=CLIENT)
        for what, some in [("Chosen tests", asked.pytest)] if asked.pytest else PARTS:
            say(what)
            pytest = [str(binaries / "python"), "-m", "pytest", "-q", "--durations=8", *some]
            run(pytest, HOLDWATCH_CHROMIUM=browser, **ONE_THREAD, **proof)
    except CannotGoOn as problem:
        say(str(problem))
        return 1
    say(f"All tests passed in {(time.monotonic() - began) / 60:.1f} min.")
    return 0


def _chromium() -> str:
    """The browser; Debian's by apt where it is absent and we may install."""
    for name in BROWSERS:
        if found := shutil.which(name):
            return found
    _install("chromium", "The browser tests need Chromium")
    return shutil.which("chromium") or "/usr/bin/chromium"


def _postgresql() -> None:
    """PostgreSQL, of which the tests start a server of their own; Debian's where it is absent and we may install."""
    if not shutil.which("initdb") and not any(Path("/usr/lib/postgresql").glob("*/bin/initdb")):
        _install("postgresql", "The tests of the other database need PostgreSQL 15 or newer")


def _install(package: str, why: str) -> None:
    """Install a package of Debian's; CannotGoOn where we may not."""
    if not shutil.which("apt-get") or os.geteuid() != 0:
        raise CannotGoOn(
            f"{why}, which was not found and cannot be installed by this user. "
            f"As root: apt-get update && apt-get install -y {package}"
        )
    say(f"Debian's {package} (once) …")
    run(["apt-get", "update", "-qq"])
    run(["apt-get", "install", "-y", "-qq", package], DEBIAN_FRONTEND="noninteractive")


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--proof", action="store_true", help="the long counts in full")
    parser.add_argument("pytest", nargs="*", help="arguments for pytest, after --")
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
