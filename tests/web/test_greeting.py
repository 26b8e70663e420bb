"""What `serve` says of itself at the start: where it listens, where people open it, and how to set up."""

from __future__ import annotations

import pytest

from holdwatch.config import Settings
from holdwatch.serving import greeting
from people import START


def said(engine, origin: str, port: int) -> list[str]:
    """The lines of the greeting."""
    return list(greeting(engine, Settings("", origin, None, "mailto:a@reedmarsh.example"), port, START))


@pytest.mark.parametrize(
    ("origin", "port", "first", "setup"),
    [
        ("http://127.0.0.1:8790", 8790, "Holdwatch is at http://127.0.0.1:8790", "http://127.0.0.1:8790/setup#"),
        ("http://localhost:8790", 8790, "Holdwatch is at http://localhost:8790", "http://localhost:8790/setup#"),
        ("http://localhost", 80, "Holdwatch is at http://localhost", "http://localhost/setup#"),
        (
            "http://127.0.0.1:9000",
            8790,
            "Holdwatch listens at http://127.0.0.1:8790. People open it at http://127.0.0.1:9000 (HOLDWATCH_ORIGIN): "
            "whatever stands there must pass on to here.",
            "http://127.0.0.1:8790/setup#",
        ),
        (
            "http://[::1]:8790",
            8790,
            "Holdwatch listens at http://127.0.0.1:8790. People open it at http://[::1]:8790 (HOLDWATCH_ORIGIN): "
            "whatever stands there must pass on to here.",
            "http://127.0.0.1:8790/setup#",
        ),
        (
            "https://holdwatch.example",
            8790,
            "Holdwatch listens at http://127.0.0.1:8790. People open it at https://holdwatch.example "
            "(HOLDWATCH_ORIGIN): whatever stands there must pass on to here.",
            "http://127.0.0.1:8790/setup#",
        ),
        (
            "http://192.168.1.5:9000",
            8790,
            "Holdwatch is at http://192.168.1.5:9000, and on this machine at http://127.0.0.1:8790",
            "http://127.0.0.1:8790/setup#",
        ),
    ],
)
def test_the_greeting_names_where_it_listens_and_where_people_open_it(engine, origin, port, first, setup):
    lines = said(engine, origin, port)
    assert lines[0] == first
    assert f": {setup}" in lines[2]


def test_once_there_is_an_owner_no_address_for_setting_up_is_printed(engine, neighbours):
    assert not any("setup#" in line for line in said(engine, "http://127.0.0.1:8790", 8790))
