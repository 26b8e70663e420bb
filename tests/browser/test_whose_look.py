"""A look at one of them, unsure which, that two phones settle without a connection and differently."""

from __future__ import annotations

import re
from pathlib import Path

from playwright.sync_api import Browser, Locator, Page, expect

from browser.house import DAYTIME, House, running, until
from browser.test_history import connect
from browser.walk import View, findings, tap, visiting

NIGHT, DAY = View("night", 390), View("light", 390)


def log_unsure(page: Page, house: House) -> None:
    """Log a look at one of the two males who hold in the hall tank."""
    page.goto(f"{house.origin}/start/male")
    tap(page.get_by_role("button", name="Comma", exact=True))
    tap(page.get_by_role("button", name="Save", exact=True))
    page.get_by_role("heading", name="Comma", level=1).wait_for()
    page.goto(f"{house.origin}/look")
    tap(page.get_by_role("button", name="One of them, unsure which"))
    tap(page.get_by_role("group", name="Mouth").get_by_role("button", name="smaller"))
    tap(page.get_by_role("button", name="Save", exact=True))
    expect(page.get_by_text("Saved on this device")).to_be_visible()


def question(page: Page) -> Locator:
    """Whose look it was, as Tonight asks it."""
    return page.locator("section", has=page.get_by_role("heading", name="Whose look was it? (Hall tank)"))


def settle(page: Page, house: House, male: str) -> None:
    page.goto(f"{house.origin}/")
    tap(question(page).get_by_role("button", name=male))
    expect(question(page)).to_have_count(0)


def open_brood(page: Page, house: House, male: str) -> Locator:
    """The looks of that male."""
    page.goto(f"{house.origin}/broods")
    tap(page.locator('main li:not(.over) a[href^="/brood/"]').filter(has_text=male))
    page.get_by_role("heading", name=male, level=1).wait_for()
    return page.locator("#looks")


def marks(page: Page) -> Locator:
    """What says of a look that two people changed it."""
    return page.get_by_role("link", name=re.compile("^Two people changed this"))


def test_one_value_stands_the_other_is_kept_and_both_phones_say_so(browser: Browser, tmp_path: Path):
    with (
        running(tmp_path, DAYTIME, "--example") as house,
        visiting(browser, house, NIGHT, login="mira") as mira,
        visiting(browser, house, DAY, login="jonas") as jonas,
    ):
        log_unsure(mira, house)
        for page in (mira, jonas):
            connect(page, house)
            until(page, "navigator.serviceWorker.controller !== null")
            page.context.set_offline(True)
        settle(mira, house, "Quill")
        house.pass_time(mira.context, minutes=2)
        jonas.context.clock.fast_forward(2 * 60_000)
        settle(jonas, house, "Comma")
        for page in (mira, jonas, mira):
            connect(page, house)
        for page in (mira, jonas):
            expect(open_brood(page, house, "Quill").locator(".what", has_text="smaller")).to_have_count(0)
            expect(open_brood(page, house, "Comma").locator(".what", has_text="smaller")).to_have_count(1)
            expect(marks(page)).to_have_count(1)
        assert list(findings(mira)) == []
        tap(marks(mira))
        asked = mira.locator(".notice", has_text="Neither had seen what the other wrote")
        expect(asked.locator("li").filter(has_text="Comma")).to_contain_text(re.compile("Jonas.*stands now"))
        expect(asked.locator("li").filter(has_text="Quill")).to_contain_text("Mira")
        tap(asked.get_by_role("button", name=re.compile("^Keep .*Quill")))
        expect(asked).to_have_count(0)
        for page in (mira, jonas):
            connect(page, house)
            expect(open_brood(page, house, "Quill").locator(".what", has_text="smaller")).to_have_count(1)
            expect(marks(page)).to_have_count(0)
