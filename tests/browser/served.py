"""A server in a process of its own: `python served.py PORT CLOCK_FILE [--example]`.

The file holds how many seconds its clock is ahead of this machine's.
"""

from __future__ import annotations

import os
import sys
from datetime import datetime, timedelta
from pathlib import Path

from holdwatch import serving
from holdwatch.app import utc_now
from holdwatch.config import load_settings
from holdwatch.example import load_example

# The loop has to notice that the clock was moved; a household can wait for twenty seconds, a test cannot.
serving.IDLE_SECONDS = 0.3


def main(port: int, clock: Path, *options: str) -> int:
    """Serve on the test's clock until killed."""

    def now() -> datetime:
        return utc_now() + timedelta(seconds=float(clock.read_text()))

    settings = load_settings(os.environ, port)
    if "--example" in options:
        load_example(settings, now())
    return serving.serve(settings, port, now)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]), Path(sys.argv[2]), *sys.argv[3:]))
