"""Once he was caught, the pumps, his rest and his condition are asked for, on Tonight and on the brood's own page."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from browser.house import DAYTIME, running
from browser.walk import View, saved, sound, tap, visiting

PATIENCE_MS = 30_000
VIEWS = [View("light", 1440), View("night", 390)]


@pytest.mark.parametrize("view", VIEWS)
def test_after_the_catch_the_pumps_are_asked_for_until_somebody_has_seen_to_them(
    browser: Browser, tmp_path: Path, view: View
):
    with running(tmp_path, DAYTIME, "--example") as house, visiting(browser, house, view) as page:
        tap(page.get_by_role("link", name="Quill", exact=False).first)
        tap(page.get_by_role("button", name="He was caught"))
        tap(page.get_by_role("button", name="Save: He was caught"))
        saved(page)
        address = page.url
        duty = page.get_by_role("listitem").filter(has_text="Pumps back on")
        expect(duty).to_be_visible(timeout=PATIENCE_MS)
        expect(page.get_by_text("Catch tonight under dim red light")).to_have_count(0)
        sound(page, view)
        tap(page.get_by_role("link", name="Tonight").first)
        row = page.get_by_role("listitem").filter(has_text="Pumps back on")
        # Where nobody holds there is nothing that the list must make room for, in the dark neither.
        expect(row).to_contain_text("Quill")
        sound(page, view)
        for button in ("I’ll do it", "Done"):
            tap(row.get_by_role("button", name=re.compile(f"^{button}")))
        expect(row).to_contain_text("You did it")
        # Nobody plans a brood anew that is over: weeks later its page asks for nothing of that any more.
        house.pass_time(page.context, days=40)
        page.goto(address)
        expect(page.get_by_role("heading", name="Caught")).to_be_visible()
        page.wait_for_timeout(1000)
        expect(page.get_by_text("Let him recover, apart")).to_have_count(0)
