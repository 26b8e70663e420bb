"""The server is set back to an older copy: the phone says so in plain words, and what it has brought back."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from browser.house import DAYTIME, House, serving, sign_in
from browser.walk import View, findings, saved, tap, visiting
from holdwatch.example import household as ours

DAY, NIGHT = View("light", 390), View("night", 390)
NOTE = "The server was set back"


@pytest.fixture
def house(tmp_path: Path) -> House:
    """A house whose server is started by the test."""
    return House(tmp_path, DAYTIME)


@pytest.fixture
def first(house: House) -> Iterator[ExitStack]:
    """The server until the test stops it."""
    with ExitStack() as first:
        first.enter_context(serving(house, "--example"))
        yield first


def command(house: House, *words: str | Path) -> str:
    """One of the commands, beside the server."""
    done = subprocess.run(
        [sys.executable, "-m", "holdwatch.cli", *map(str, words)], env=house.environ(), capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def agreed(page: Page, house: House) -> None:
    """Nothing of this phone's waits."""
    page.goto(f"{house.origin}/household")
    expect(page.locator("main").get_by_text("Nothing is waiting to go up.").first).to_be_visible()
    expect(page.locator("main").get_by_text("Up to date with the household").first).to_be_visible()


def log_full(page: Page, house: House) -> None:
    """A look of one tap."""
    page.goto(f"{house.origin}/")
    tap(page.get_by_role("button", name="Still full").first)
    saved(page)
    agreed(page, house)


@pytest.mark.parametrize("view", [DAY, NIGHT])
def test_the_phone_says_what_happened_and_what_it_brought_back(
    browser: Browser, house: House, first: ExitStack, tmp_path: Path, view: View
):
    with visiting(browser, house, view) as page, visiting(browser, house, DAY, login="jonas") as other:
        agreed(page, house)
        command(house, "backup", tmp_path / "copy.sqlite3")
        house.pass_time(page.context, hours=24)
        other.context.clock.fast_forward(24 * 3_600_000)
        log_full(other, house)
        log_full(page, house)
        log_full(page, house)
        first.close()
        command(house, "restore", tmp_path / "copy.sqlite3")
        with serving(house):
            page.goto(f"{house.origin}/household")
            expect(page.locator("main").get_by_text("Signed out on this device.").first).to_be_visible()
            expect(page.get_by_role("heading", name=NOTE)).to_have_count(0)
            sign_in(page, house.origin, "mira", ours.PASSWORD)
            note = page.locator("section.notice").filter(has=page.get_by_role("heading", name=NOTE))
            expect(note).to_contain_text("It was set back to a copy of yesterday, 18:30.")
            expect(note).to_contain_text("This device has brought back 3 entries that it had lost.")
            if view.is_night and page.locator("html").get_attribute("data-skin") != "night":
                tap(page.get_by_role("button", name="Red light", exact=True))
            assert list(findings(page)) == []
            # What the other wrote was on this phone, and came back from here.
            page.locator('main a[href^="/brood/"]').first.click()
            expect(page.get_by_text("Brought back by Mira after the server was set back").first).to_be_visible()
            assert list(findings(page)) == []
            tap(note.get_by_role("button", name="Close"))
            expect(note).to_have_count(0)
            page.reload()
            expect(page.get_by_text("Brought back by Mira after the server was set back").first).to_be_visible()
            expect(page.get_by_role("heading", name=NOTE)).to_have_count(0)
            # Whose it was, and who had nothing to bring back any more, is told too.
            sign_in(other, house.origin, "jonas", ours.PASSWORD)
            expect(other.get_by_text("Nothing that this device holds was missing there.")).to_be_visible()
