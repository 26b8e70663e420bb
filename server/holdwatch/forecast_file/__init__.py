"""One brood read from a file and its forecast printed: `holdwatch forecast FILE [--json]`."""

from .command import read_brood, run
from .text import BadFile

__all__ = ["BadFile", "read_brood", "run"]
