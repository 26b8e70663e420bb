"""A half-filled look: it outlives a reload and a killed browser, and is gone once it is saved or begun anew."""

from __future__ import annotations

import os
import signal
from pathlib import Path

from playwright.sync_api import Browser, Locator, Page, Playwright, expect

from browser.house import House, until
from browser.test_offline import come_in, phone
from browser.walk import View, findings, tap, visiting


def part(page: Page, group: str, value: str) -> Locator:
    """The button of a value of a part."""
    return page.get_by_role("group", name=group).get_by_role("button", name=value, exact=True)


def kill(folder: Path) -> None:
    """End the browser whose storage lies there, as a phone does that needs its memory: without a word."""
    for process in Path("/proc").glob("[0-9]*"):
        try:
            command = (process / "cmdline").read_bytes().decode(errors="replace")
        except OSError:
            continue  # it has ended meanwhile
        if f"--user-data-dir={folder}" in command and "--type=" not in command:
            os.kill(int(process.name), signal.SIGKILL)


def fill_in(page: Page) -> str:
    """A look by half; the temperature as it is shown."""
    part(page, "Mouth", "smaller").click()
    part(page, "Tails between his lips", "perhaps").click()
    page.get_by_role("button", name="Add temperature").click()
    page.get_by_role("button", name="0.5 °C more").click()
    page.get_by_role("button", name="Add a note").click()
    page.get_by_role("textbox").fill("hollow belly?")
    return page.get_by_role("group", name="Temperature").get_by_role("status").inner_text()


def test_it_is_there_again_after_the_browser_was_killed(
    playwright: Playwright, chromium: str, example: House, tmp_path: Path
):
    with phone(playwright, chromium, example, tmp_path) as context:
        page = come_in(context, example)
        context.set_offline(True)
        page.goto(f"{example.origin}/look")
        shown = fill_in(page)
        until(page, f"({KEPT})().then((kept) => kept?.note === 'hollow belly?')")
        with context.expect_event("close"):
            kill(tmp_path)
    with phone(playwright, chromium, example, tmp_path, offline=True) as context:
        page = context.pages[0]
        page.goto(f"{example.origin}/look")
        expect(page.get_by_text("Going on with the look begun just now.")).to_be_visible()
        expect(part(page, "Mouth", "smaller")).to_have_attribute("aria-pressed", "true")
        expect(part(page, "Tails between his lips", "perhaps")).to_have_attribute("aria-pressed", "true")
        expect(page.get_by_role("group", name="Temperature").get_by_role("status")).to_have_text(shown)
        expect(page.get_by_role("textbox")).to_have_value("hollow belly?")
        page.get_by_role("button", name="Save", exact=True).click()
        expect(page.get_by_text("Last look just now: smaller, perhaps tails")).to_be_visible()
        page.goto(f"{example.origin}/look")
        expect(part(page, "Mouth", "smaller")).to_have_attribute("aria-pressed", "false")
        expect(page.get_by_text("Going on with")).to_have_count(0)


KEPT = """async () => {
  const answer = (ask) => new Promise((done) => (ask.onsuccess = () => done(ask.result)));
  const db = await answer(indexedDB.open('holdwatch'));
  const kept = await answer(db.transaction('settings').objectStore('settings').get('begun_look'));
  db.close();
  return kept;
}"""


def test_an_old_one_is_offered_and_not_used_unasked(browser: Browser, example: House):
    with visiting(browser, example, View("night", 390)) as page:
        page.goto(f"{example.origin}/look")
        tap(part(page, "Mouth", "normal"))
        page.context.clock.fast_forward(4 * 3_600_000)
        page.reload()
        expect(page.get_by_role("heading", name="A look was begun 4 h ago")).to_be_visible()
        expect(page.get_by_text("Quill: mouth normal")).to_be_visible()
        expect(page.get_by_role("group", name="Mouth")).to_have_count(0)
        assert list(findings(page)) == []
        tap(page.get_by_role("button", name="Start over"))
        expect(part(page, "Mouth", "normal")).to_have_attribute("aria-pressed", "false")
        page.reload()
        expect(part(page, "Mouth", "normal")).to_have_attribute("aria-pressed", "false")


def test_one_that_is_gone_on_with_later_keeps_the_time_at_which_it_was_seen(browser: Browser, example: House):
    with visiting(browser, example, View("light", 390)) as page:
        page.goto(f"{example.origin}/look")
        part(page, "Mouth", "full").click()
        page.context.clock.fast_forward(40 * 60_000)
        page.reload()
        expect(page.get_by_role("button", name="Another time")).to_have_attribute("aria-pressed", "true")
        expect(part(page, "Mouth", "full")).to_have_attribute("aria-pressed", "true")
        page.get_by_role("button", name="Start over").click()
        expect(page.get_by_role("button", name="Now")).to_have_attribute("aria-pressed", "true")
