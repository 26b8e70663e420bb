"""The address of one's own calendar: got in Household, read by whoever has it, renewed and ended."""

from __future__ import annotations

from urllib.error import HTTPError
from urllib.request import urlopen

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

import rfc5545
from browser.house import House
from browser.walk import View, sound, tap, visiting


def fetched(address: str) -> rfc5545.Component:
    """What a calendar gets, which has no session."""
    with urlopen(address) as answer:
        return rfc5545.read(answer.read())


def panel(page: Page) -> Locator:
    return page.locator("section.panel", has=page.get_by_role("heading", name="Calendar", exact=True))


def got(page: Page, button: str) -> str:
    """The address that this button gives."""
    tap(panel(page).get_by_role("button", name=button, exact=True))
    return panel(page).locator("output").inner_text()


@pytest.mark.parametrize("view", [View("light", 390), View("night", 390)], ids=lambda view: view.skin)
def test_the_address_is_got_read_renewed_and_ended(browser: Browser, example: House, view: View):
    with visiting(browser, example, view) as page:
        page.goto(f"{example.origin}/household")
        panel(page).get_by_text("You have no address yet.").wait_for()
        sound(page, view)
        first = got(page, "Get the address")
        sound(page, view)
        events = fetched(first).named("VEVENT")
        assert events and "Quill" not in " ".join(event.text("SUMMARY") for event in events)

        tap(panel(page).get_by_role("button", name="Male and tank"))
        tap(panel(page).get_by_role("button", name="New address", exact=True))
        expect(panel(page).locator("output")).not_to_have_text(first)
        second = panel(page).locator("output").inner_text()
        assert any("Quill" in event.text("SUMMARY") for event in fetched(second).named("VEVENT"))
        panel(page).get_by_text("It names male and tank.").wait_for()
        # Shown once: whoever comes back sees only that there is one.
        page.reload()
        panel(page).get_by_text("You got the address").wait_for()
        assert panel(page).locator("output").count() == 0

        tap(panel(page).get_by_role("button", name="End it"))
        sound(page, view)
        tap(panel(page).get_by_role("button", name="End it").last)
        panel(page).get_by_text("You have no address yet.").wait_for()
        for address in (first, second):
            with pytest.raises(HTTPError, match="404"):
                urlopen(address)


def test_without_a_connection_it_says_what_it_needs(browser: Browser, example: House):
    with visiting(browser, example, View("light", 390)) as page:
        page.goto(f"{example.origin}/household")
        button = panel(page).get_by_role("button", name="Get the address")
        button.wait_for()
        page.context.set_offline(True)
        panel(page).get_by_text("The address can be got with a connection.").wait_for()
        expect(button).to_be_disabled()
        page.context.set_offline(False)
        expect(button).to_be_enabled()
