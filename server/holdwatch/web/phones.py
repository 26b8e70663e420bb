"""What to call a phone in a list of phones, by what its browser says of itself."""

from __future__ import annotations

from collections.abc import Iterable

# The first that fits: every browser also claims to be those below it.
BROWSERS = (
    ("Edg", "Edge"),
    ("OPR/", "Opera"),
    ("Firefox/", "Firefox"),
    ("FxiOS", "Firefox"),
    ("CriOS", "Chrome"),
    ("Chrome/", "Chrome"),
    ("Safari/", "Safari"),
)
SYSTEMS = (
    ("iPhone", "iPhone"),
    ("iPad", "iPad"),
    ("Android", "Android"),
    ("Windows", "Windows"),
    ("Macintosh", "Mac"),
    ("CrOS", "Chromebook"),
    ("Linux", "Linux"),
)


def label_of(user_agent: str) -> str:
    """Such as `Firefox on Android`."""
    browser = _first(BROWSERS, user_agent, "A browser")
    system = _first(SYSTEMS, user_agent, "")
    return f"{browser} on {system}" if system else browser


def _first(known: Iterable[tuple[str, str]], text: str, otherwise: str) -> str:
    return next((name for mark, name in known if mark in text), otherwise)
