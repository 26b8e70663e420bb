"""Leaving the household: told in plain words and by whom to come back, nothing wiped, and back as the same person."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from browser.house import DAYTIME, House, running
from browser.walk import View, findings, tap, visiting
from holdwatch.example import household as ours

DAY, NIGHT = View("light", 390), View("night", 390)
WORDS = f"You are no longer in the household {ours.HOUSEHOLD}. To come back, ask Mira for an invitation."


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    """A server of this test's own, for what it changes."""
    with running(tmp_path, DAYTIME, "--example") as house:
        yield house


def people(page: Page, house: House) -> Locator:
    """The people, on the page of the household."""
    page.goto(f"{house.origin}/household")
    return page.locator("section.panel").filter(has=page.get_by_role("heading", name="People", exact=True))


@pytest.mark.parametrize("view", [DAY, NIGHT])
def test_removed_he_is_told_so_keeps_what_he_logs_and_comes_back_with_it(browser: Browser, house: House, view: View):
    with visiting(browser, house, view, login="tove") as his, visiting(browser, house, DAY) as page:
        panel = people(page, house)
        panel.get_by_role("button", name="Remove Tove").click()
        expect(panel.get_by_text("What they logged stays.")).to_be_visible()
        panel.get_by_role("alert").get_by_role("button", name="Remove Tove").click()
        expect(panel.get_by_text("left")).to_be_visible()

        his.goto(f"{house.origin}/")
        expect(his.locator("main").get_by_text(WORDS).first).to_be_visible()
        expect(his.locator("main").get_by_role("link", name="Sign in", exact=True)).to_have_count(0)
        tap(his.get_by_role("button", name="Still full").first)
        expect(his.locator("main").get_by_text("1 entry waits to go up.").first).to_be_visible()
        his.goto(f"{house.origin}/household")
        expect(his.locator("main").get_by_text(WORDS).first).to_be_visible()
        with his.expect_download() as download:
            tap(his.get_by_role("button", name="Export what has not gone up"))
        assert '"look"' in download.value.path().read_text()
        assert list(findings(his)) == []

        panel = people(page, house)
        panel.get_by_role("button", name="Invite Tove again").click()
        expect(panel.get_by_text("Send this link to Tove, who comes back as the same person.")).to_be_visible()
        assert list(findings(page)) == []
        his.goto(panel.locator("output").inner_text())
        his.get_by_label("Choose a sign-in name").fill("tove")
        his.locator("input[type=password]").fill("red lamp, cold water")
        tap(his.get_by_role("button", name=f"Join {ours.HOUSEHOLD}"))
        his.wait_for_url(re.compile(r"/$"))
        his.goto(f"{house.origin}/household")
        expect(his.locator("main").get_by_text("Nothing is waiting to go up.").first).to_be_visible()
        expect(people(page, house).get_by_text("left")).to_have_count(0)


def test_a_keeper_leaves_by_himself(browser: Browser, house: House):
    with visiting(browser, house, DAY, login="jonas") as page:
        panel = people(page, house)
        expect(panel.get_by_role("button", name=re.compile("^Remove "))).to_have_count(0)
        panel.get_by_role("button", name="Leave the household").click()
        expect(panel.get_by_text(f"Leave {ours.HOUSEHOLD}? What you logged stays there,")).to_be_visible()
        assert list(findings(page)) == []
        panel.get_by_role("alert").get_by_role("button", name="Leave the household").click()
        expect(page.locator("main").get_by_text(WORDS).first).to_be_visible()
        expect(page.locator("main").get_by_role("link", name="Sign in", exact=True)).to_have_count(0)
    with visiting(browser, house, DAY) as page:
        expect(people(page, house).get_by_text("left")).to_be_visible()
        expect(people(page, house).get_by_role("button", name="Leave the household")).to_have_count(0)
