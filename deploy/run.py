"""Sets up whatever is missing and serves Holdwatch on this machine: `python3 deploy/run.py [--example]`."""

from __future__ import annotations

import argparse
import os
import sys

from setting_up import PLACE, CannotGoOn, check_python, client, environment, say


def main() -> int:
    """Prepare, load the example household where it is asked for, and serve until stopped."""
    asked = _arguments()
    try:
        check_python()
        _check_port(asked.port)
        binaries = environment("venv", "requirements.lock")
        client()
        holdwatch = str(binaries / "holdwatch")
        database = PLACE / ("example.sqlite3" if asked.example else "holdwatch.sqlite3")
        os.environ.setdefault("HOLDWATCH_DATABASE", f"sqlite:///{database}")
    except CannotGoOn as problem:
        say(str(problem))
        return 1
    sys.stdout.flush()
    example = ["--example"] if asked.example else []
    os.execv(holdwatch, [holdwatch, "serve", "--port", asked.port, *example])


def _check_port(port: str) -> None:
    """CannotGoOn for what is no port, before minutes are spent on setting up."""
    if not (port.isascii() and port.isdigit() and len(port) <= 5 and 1 <= int(port) <= 65535):
        raise CannotGoOn(f"--port must be a number from 1 to 65535, not {port!r}")


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--example", action="store_true", help="with a household of our own invention to look at")
    parser.add_argument("--port", default="8790", help="the port on 127.0.0.1 (default 8790)")
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
