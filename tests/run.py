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

BROWSERS = ("chromium", "chromium-browser", "google-chrome")


def main() -> int:
    """Prepare, then run the Python, TypeScript and browser tests; the exit code is 0 if all passed."""
    asked = _arguments()
    began = time.monotonic()
    try:
        check_python()
        binaries = environment("test-venv", "requirements-test.lock")
        browser = _chromium()
        node_modules()
        client()
        proof = {"HOLDWATCH_PROOF": "1"} if asked.proof else {}
        say("TypeScript: types, then tests")
        run(["npm", "run", "--silent", "check"], cwd=CLIENT)
        run(["npm", "test", "--silent"], cwd=CLIENT)
        say("Python and the browser")
        pytest = [str(binaries / "python"), "-m", "pytest", "-q", "--durations=8", *asked.pytest]
        run(pytest, HOLDWATCH_CHROMIUM=browser, **proof)
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
    if not shutil.which("apt-get") or os.geteuid() != 0:
        raise CannotGoOn(
            "The browser tests need Chromium, which was not found and cannot be installed by this user. "
            "As root: apt-get update && apt-get install -y chromium"
        )
    say("Debian's chromium (once) …")
    run(["apt-get", "update", "-qq"])
    run(["apt-get", "install", "-y", "-qq", "chromium"], DEBIAN_FRONTEND="noninteractive")
    return shutil.which("chromium") or "/usr/bin/chromium"


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--proof", action="store_true", help="the long counts in full")
    parser.add_argument("pytest", nargs="*", help="arguments for pytest, after --")
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
