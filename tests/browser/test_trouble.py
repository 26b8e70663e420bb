"""When something is wrong: young are loose without a connection, and an entry that the household does not take."""

from __future__ import annotations

import re
from pathlib import Path

from playwright.sync_api import Browser, Page, expect

from browser.house import DAYTIME, House, running, sign_in, until
from browser.walk import View, findings, tap, visiting
from holdwatch.example import household as ours

NIGHT, DAY = View("night", 390), View("light", 390)
DAYS_BEFORE_THE_BROOD = 30


def choose(page: Page, group: str, value: str) -> None:
    """One tap on a value of a part."""
    tap(page.get_by_role("group", name=group).get_by_role("button", name=value, exact=True))


def test_loose_young_raise_the_alarm_at_once_without_a_connection(browser: Browser, example: House):
    with visiting(browser, example, NIGHT) as page:
        until(page, "navigator.serviceWorker.controller !== null")
        page.context.set_offline(True)
        page.goto(f"{example.origin}/look")
        choose(page, "Loose young in the tank", "seen")
        tap(page.get_by_role("button", name="Save"))
        alarm = page.get_by_text("Pumps off, or guard the intakes.")
        expect(alarm).to_be_visible()
        expect(page.get_by_text("Young are loose: act now")).to_be_visible()
        assert list(findings(page)) == []
        tap(page.get_by_role("button", name="They are safe"))
        expect(alarm).to_be_hidden()


def test_loose_young_of_nobody_knows_which_male_raise_it_too(browser: Browser, tmp_path: Path):
    with running(tmp_path, DAYTIME, "--example") as house, visiting(browser, house, NIGHT) as page:
        page.goto(f"{house.origin}/start/male")
        tap(page.get_by_role("button", name="Comma"))
        tap(page.get_by_role("button", name="Save", exact=True))
        expect(page.get_by_role("heading", name="Comma", level=1)).to_be_visible()
        until(page, "navigator.serviceWorker.controller !== null")
        page.context.set_offline(True)
        page.goto(f"{house.origin}/look")
        tap(page.get_by_role("button", name="One of them, unsure which"))
        choose(page, "Loose young in the tank", "seen")
        tap(page.get_by_role("button", name="Save"))
        alarm = page.get_by_text("Pumps off, or guard the intakes.")
        expect(alarm).to_have_count(1)
        expect(page.get_by_text("Perhaps from Quill or Comma")).to_be_visible()
        tap(page.get_by_role("button", name="They are safe"))
        expect(alarm).to_be_hidden()
        tap(page.get_by_role("button", name="Undo"))
        expect(alarm).to_be_visible()


def log_before_the_brood(page: Page, house: House) -> None:
    """A look that the household cannot take."""
    page.goto(f"{house.origin}/look")
    choose(page, "Mouth", "full")
    tap(page.get_by_role("button", name="Another time"))
    for _ in range(DAYS_BEFORE_THE_BROOD):
        page.get_by_role("button", name="A day earlier").click()
    tap(page.get_by_role("button", name="Save"))
    expect(page.get_by_role("link", name=re.compile("Needs attention: *1"))).to_be_visible()


def all_is_well(page: Page, house: House) -> None:
    """Nothing needs attention, and nothing waits."""
    expect(page.get_by_text("Nothing needs attention.")).to_be_visible()
    expect(page.get_by_role("link", name=re.compile("Needs attention"))).to_have_count(0)
    page.goto(f"{house.origin}/household")
    expect(page.locator("main").get_by_text("Nothing is waiting to go up.")).to_be_visible()


def test_a_look_that_is_refused_is_kept_and_says_why_until_it_is_mended(browser: Browser, example: House):
    with visiting(browser, example, DAY) as page:
        log_before_the_brood(page, example)
        tap(page.get_by_role("link", name=re.compile("Needs attention: *1")))
        tap(page.get_by_role("link", name="See them"))
        expect(page.get_by_text("this look lies before the brood began")).to_be_visible()
        assert list(findings(page)) == []
        page.get_by_label("When").fill("2026-11-23T18:10")
        tap(page.get_by_role("button", name="Send it again"))
        all_is_well(page, example)


def test_what_another_wrote_and_was_refused_can_go_up_in_ones_own_name(browser: Browser, example: House):
    with visiting(browser, example, DAY, login="jonas") as page:
        log_before_the_brood(page, example)
        page.goto(f"{example.origin}/household")
        tap(page.get_by_role("button", name="Sign out on this device"))
        expect(page.locator("main").get_by_text("Signed out on this device.").first).to_be_visible()
        sign_in(page, example.origin, "mira", ours.PASSWORD)
        page.goto(f"{example.origin}/attention")
        expect(page.get_by_text("Jonas wrote this on this device.")).to_be_visible()
        expect(page.get_by_role("button", name="Send it again")).to_have_count(0)
        assert list(findings(page)) == []
        page.get_by_label("When").fill("2026-11-23T18:20")
        tap(page.get_by_role("button", name="Send it in my name"))
        all_is_well(page, example)
