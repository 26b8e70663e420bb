"""Tonight in its three places: at the tank in the dark, with a helper on the sofa, and wide at a desk."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from browser.house import DAYTIME, House, running
from browser.walk import View, findings, tap, visiting

NIGHT, DAY, DESK = View("night", 390), View("light", 390), View("light", 1440, 900)


@pytest.fixture
def dark(browser: Browser, example: House) -> Iterator[Page]:
    """The phone at the tank; the example household has two duties this evening."""
    with visiting(browser, example, NIGHT) as page:
        yield page


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    """A household of its own: in the one that all share others may have done the duties of this evening."""
    with running(tmp_path, DAYTIME, "--example") as own:
        yield own


# From before the first paint; what moves within half a second of a tap is not counted.
NOTE_SHIFTS = """
globalThis.shifted = 0;
new PerformanceObserver((list) => {
  for (const one of list.getEntries()) if (!one.hadRecentInput) globalThis.shifted += one.value;
}).observe({ type: 'layout-shift', buffered: true });
"""
GOOD_SHIFT = 0.1
"""The most that a page may shift and be called good (web.dev, "Cumulative Layout Shift")."""


def edge(page: Page, selector: str, side: str) -> float:
    """Where an element ends, in pixels of the glass."""
    return page.locator(selector).first.evaluate(f"(one) => one.getBoundingClientRect().{side}")


def test_in_the_dark_the_usual_look_is_in_reach_and_the_duties_are_one_tap_away(dark: Page):
    usual = dark.get_by_role("button", name="Still full").first
    expect(usual).to_be_in_viewport(ratio=1)
    assert usual.evaluate("(one) => one.getBoundingClientRect().bottom") < edge(dark, "nav", "top")
    duty = dark.get_by_role("button", name="I’ll do it: Set up the nursery")
    expect(duty).to_be_hidden()
    tap(dark.get_by_role("button", name="Show what is to do"))
    expect(duty).to_be_visible()
    assert list(findings(dark)) == []
    tap(dark.get_by_role("button", name="Fold what is to do"))
    expect(duty).to_be_hidden()


def test_how_a_duty_is_done_is_read_without_taking_it_and_stands_on_the_printed_card(browser: Browser, example: House):
    with visiting(browser, example, DAY) as page:
        how = page.get_by_text("No water from another tank.")
        expect(how).to_be_hidden()
        page.emulate_media(media="print")
        expect(how).to_be_visible()
        page.emulate_media(media="screen")
        tap(page.get_by_role("button", name="Set up the nursery").first)
        expect(how).to_be_visible()
        expect(page.get_by_role("button", name="I’ll do it: Set up the nursery")).to_be_visible()
        assert list(findings(page)) == []


def test_a_card_is_read_out_in_the_order_of_its_sense(dark: Page):
    card = dark.get_by_role("article", name="Quill")
    words = " ".join(card.inner_text().split())
    assert words.startswith("Quill Hall tank, left of the urchin rock Day 18 of the hold, ± 1 19 days since he last ")
    parts = [words.index(part) for part in ("last ate", "silver", "Still full", "Last look", "Night to catch")]
    assert parts == sorted(parts)


def test_a_desk_shows_the_duties_beside_the_males_and_leaves_no_half_of_it_empty(browser: Browser, example: House):
    with visiting(browser, example, DESK) as page:
        duty, card = page.locator("li.duty").first.bounding_box(), page.get_by_role("article").first.bounding_box()
        assert duty and card and duty["x"] + duty["width"] < card["x"]
        assert card["x"] + card["width"] > 0.9 * DESK.width
        night, usual = page.get_by_text("Night to catch"), page.get_by_role("button", name="Still full")
        assert night.bounding_box()["x"] > usual.bounding_box()["x"] + usual.bounding_box()["width"]
        expect(page.get_by_role("link", name="The whole brood of Quill")).to_be_in_viewport(ratio=1)


@pytest.mark.parametrize("view", [DAY, View("light", 768)], ids=lambda view: str(view.width))
def test_the_males_stay_where_they_are_when_the_duties_come(browser: Browser, house: House, view: View):
    with visiting(browser, house, view, script=NOTE_SHIFTS) as page:
        page.goto(f"{house.origin}/")
        expect(page.get_by_role("button", name="Skip: Look at the feeding")).to_be_visible()
        # Until it was painted, and the observer was told.
        page.wait_for_timeout(500)
        assert page.evaluate("shifted") < GOOD_SHIFT


def test_a_tank_in_another_zone_than_the_device_is_named(browser: Browser, example: House):
    with visiting(browser, example, DAY, zone="Europe/Lisbon") as page:
        expect(page.get_by_text("Hours in Copenhagen time")).to_be_visible()
        expect(page.get_by_text("22:30 in Copenhagen time").first).to_be_visible()


def test_two_males_due_close_together_are_offered_one_night_below_their_cards(browser: Browser, tmp_path: Path):
    with running(tmp_path, DAYTIME, "--example") as house, visiting(browser, house, DAY) as page:
        expect(page.get_by_role("heading", name="Quill")).to_be_visible()
        page.goto(f"{house.origin}/start/male")
        tap(page.get_by_role("button", name="Comma", exact=True))
        earlier = page.get_by_role("group", name="First seen with a full throat")
        for _ in range(17):
            tap(earlier.get_by_role("button", name="One day earlier"))
        tap(page.get_by_role("group", name="Last surely not holding").get_by_role("button", name="One day earlier"))
        tap(page.get_by_role("button", name="Save", exact=True))
        page.get_by_role("heading", name="Comma", level=1).wait_for()
        page.goto(f"{house.origin}/")
        offer = page.locator(".notice", has=page.get_by_role("heading", name="One night for both?"))
        # The server works out the forecast of the second male meanwhile.
        expect(offer).to_be_visible(timeout=60_000)
        expect(offer.get_by_role("link")).to_have_count(2)
        last = page.locator("article").last.evaluate("(one) => one.getBoundingClientRect().bottom")
        assert offer.evaluate("(one) => one.getBoundingClientRect().top") > last
        assert list(findings(page)) == []
        tap(offer.get_by_role("link", name="Comma"))
        expect(page.get_by_role("heading", name="Comma", level=1)).to_be_visible()


def test_at_a_desk_the_duties_print_as_a_card_that_says_how_what_not_and_whom_to_ask(browser: Browser, house: House):
    with visiting(browser, house, DESK) as page:
        page.evaluate("globalThis.printed = 0; globalThis.print = () => { globalThis.printed += 1; }; null")
        page.get_by_role("button", name="Print as a card for the door").click()
        assert page.evaluate("globalThis.printed") == 1
        page.emulate_media(media="print")
        card = page.locator(".duties")
        expect(card.get_by_text("No torch, no food to test him.")).to_be_visible()
        expect(card.locator(".paper")).to_have_text(re.compile("In doubt, ask (Mira or Jonas|Jonas or Mira)"))
        expect(card.locator(".paper")).to_be_visible()
        expect(page.get_by_role("heading", name="Quill")).not_to_be_visible()
        expect(card.get_by_role("button", name="Later")).to_have_count(0)
