"""A browser for all the tests, and a server with the example household where one is asked for."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Playwright, sync_playwright

from browser.house import DAYTIME, FLAGS, House, running


@pytest.fixture(scope="session")
def chromium() -> str:
    """The browser's program."""
    found = os.environ.get("HOLDWATCH_CHROMIUM") or shutil.which("chromium")
    assert found, "no Chromium; `python3 tests/run.py` installs it"
    return found


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    """The driver."""
    with sync_playwright() as driver:
        yield driver


@pytest.fixture(scope="session")
def browser(playwright: Playwright, chromium: str) -> Iterator[Browser]:
    """One browser for tests that need none of their own."""
    browser = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
    yield browser
    browser.close()


@pytest.fixture(scope="session")
def example(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """A server with the example household, on an afternoon whose lamps are on."""
    with running(tmp_path_factory.mktemp("example"), DAYTIME, "--example") as house:
        yield house
