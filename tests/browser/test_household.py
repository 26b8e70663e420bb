"""Household: males are changed, units chosen, and nobody is offered what would be refused."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from browser.house import DAYTIME, House, running, until
from browser.walk import View, findings, tap, visiting

DAY, NIGHT = View("light", 390), View("night", 390)


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    """A server of this test's own, for what it changes."""
    with running(tmp_path, DAYTIME, "--example") as house:
        yield house


def panel(page: Page, title: str) -> Locator:
    """The panel with that title."""
    return page.locator("section.panel").filter(has=page.get_by_role("heading", name=title, exact=True))


def test_a_male_is_changed_and_is_gone_only_when_he_does_not_hold(browser: Browser, house: House):
    with visiting(browser, house, DAY) as page:
        page.goto(f"{house.origin}/household")
        page.get_by_role("button", name="Change Comma").click()
        page.get_by_label("What you call him").fill("Semicolon")
        page.get_by_label("Where he is found").fill("behind the pump")
        page.get_by_label("In which tank").select_option(label="Study cube")
        page.get_by_role("group", name="Has he let young go before?").get_by_role("button", name="No").click()
        assert list(findings(page)) == []
        page.get_by_role("button", name="Save", exact=True).click()
        expect(page.get_by_text("Study cube, behind the pump")).to_be_visible()
        page.get_by_role("button", name="Undo").click()
        expect(page.get_by_text("Hall tank, under the overhang on the right")).to_be_visible()

        page.get_by_role("button", name="Change Quill").click()
        page.get_by_text("He is no longer here").click()
        expect(page.get_by_text("He holds now. Say first how that ended")).to_be_visible()
        page.get_by_role("button", name="Change Saffron").click()
        page.get_by_text("He is no longer here").click()
        page.get_by_role("button", name="Saffron is no longer here").click()
        expect(page.get_by_text("No longer here: 1")).to_be_visible()
        page.goto(f"{house.origin}/start/male")
        expect(page.get_by_role("button", name="Comma")).to_be_visible()
        expect(page.get_by_role("button", name="Saffron")).to_have_count(0)
        page.goto(f"{house.origin}/household")
        page.get_by_text("No longer here: 1").click()
        page.get_by_role("button", name="Saffron is back").click()
        expect(page.get_by_role("button", name="Change Saffron")).to_be_visible()


def test_without_a_connection_it_says_what_waits_for_one_and_that_nothing_failed(browser: Browser, house: House):
    with visiting(browser, house, NIGHT) as page:
        until(page, "navigator.serviceWorker.controller !== null")
        page.goto(f"{house.origin}/household")
        expect(panel(page, "Calendar").get_by_role("button", name="Get the address")).to_be_visible()
        page.context.set_offline(True)
        page.reload()
        expect(panel(page, "How I am reminded")).to_contain_text("Shown and changed with a connection.")
        expect(panel(page, "Calendar")).to_contain_text("The address can be got with a connection.")
        expect(panel(page, "Devices")).to_contain_text("Shown with a connection.")
        # Nobody changed anything: to look at the page is no attempt that could fail.
        expect(page.get_by_text("Nothing was changed")).to_have_count(0)


def test_temperatures_and_volumes_are_shown_and_typed_in_the_units_of_this_device(browser: Browser, house: House):
    with visiting(browser, house, DAY) as page:
        page.goto(f"{house.origin}/household")
        page.get_by_role("button", name="°F").click()
        page.get_by_role("button", name="US gallons").click()
        tanks = panel(page, "Tanks")
        expect(tanks.get_by_text("79.7 °F")).to_be_visible()
        expect(tanks.get_by_text("63.4 gal")).to_be_visible()
        page.get_by_role("button", name="Change Hall tank").click()
        for _ in range(7):
            page.get_by_role("button", name="0.1 °F less").click()
        page.get_by_label("Volume, US gallons").fill("55")
        page.get_by_role("button", name="Save the tank").click()
        expect(tanks.get_by_text("79.0 °F")).to_be_visible()
        expect(tanks.get_by_text("55 gal")).to_be_visible()
        page.reload()
        expect(tanks.get_by_text("79.0 °F")).to_be_visible()
        page.goto(f"{house.origin}/look")
        page.get_by_role("button", name="Add temperature").click()
        page.get_by_role("button", name="0.5 °F more").click()
        expect(page.get_by_role("group", name="Temperature").get_by_text("°F", exact=True)).to_be_visible()
        page.goto(f"{house.origin}/household")
        page.get_by_role("button", name="°C").click()
        expect(tanks.get_by_text("26.1 °C")).to_be_visible()


def test_a_helper_is_told_what_is_not_his_instead_of_being_refused(browser: Browser, example: House):
    with visiting(browser, example, DAY, login="tove") as page:
        page.goto(f"{example.origin}/household")
        expect(page.get_by_text("A keeper or the owner changes tanks and males.").first).to_be_visible()
        for not_his in (r"^Change (Hall tank|Study cube|Quill|Comma|Saffron)$", "^Remove "):
            expect(page.get_by_role("button", name=re.compile(not_his))).to_have_count(0)
        expect(page.get_by_role("link", name="Add a tank")).to_have_count(0)
        expect(page.get_by_text("Invite")).to_have_count(0)
        page.goto(f"{example.origin}/start/tank")
        expect(page.get_by_text("A keeper or the owner adds a tank.")).to_be_visible()
        expect(page.get_by_role("button", name="Save the tank")).to_have_count(0)
        page.goto(f"{example.origin}/start/male")
        expect(page.get_by_role("button", name="Another male")).to_have_count(0)


@pytest.mark.parametrize("view", [DAY, NIGHT])
def test_signed_out_it_says_so_and_offers_the_way_in_instead_of_what_needs_it(
    browser: Browser, house: House, view: View
):
    with visiting(browser, house, view) as page:
        page.goto(f"{house.origin}/household")
        tap(page.get_by_role("button", name="Sign out on this device"))
        expect(page.get_by_text("Signed out on this device. What is logged is kept here.")).to_be_visible()
        for title in ("People", "Devices", "Reminders on this device"):
            expect(panel(page, title).get_by_text("Sign in to change this.")).to_be_visible()
            expect(panel(page, title).get_by_role("button")).to_have_count(0)
        assert list(findings(page)) == []
        tap(panel(page, "People").get_by_role("link", name="Sign in"))
        expect(page.get_by_label("Sign-in name")).to_be_visible()
        assert page.url.endswith("/sign-in?to=%2Fhousehold")
