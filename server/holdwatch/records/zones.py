"""Time zones by their IANA names: the one way to check that a text is one."""

from __future__ import annotations

from functools import cache
from zoneinfo import available_timezones

# Names of a machine's own setting, which another machine or a browser does not know.
OF_ONE_MACHINE = {"localtime", "Factory", "posixrules"}


class NoZone(ValueError):
    """A text that names no time zone."""


def check_zone(name: str) -> None:
    """NoZone unless `name` is a zone of the IANA time zone database."""
    if name not in _zones():
        raise NoZone(f"{name[:40]!r} is no time zone; one is called Europe/Berlin")


@cache
def _zones() -> frozenset[str]:
    return frozenset(available_timezones() - OF_ONE_MACHINE)
