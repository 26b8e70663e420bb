"""A brood's page says what is believed, why, and what to look for; what only the server knows says when it is away."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from browser.house import DAYTIME, House, running
from browser.walk import View, saved, sound, tap, visiting

NIGHT, DAY = View("night", 390), View("light", 390)
# The server varies every assumption meanwhile, which a busy machine takes its time for.
PATIENCE_MS = 60_000
SECTIONS = (
    "Net him, or move him ahead?",
    "Away on some of these nights?",
    "How the forecast developed",
    "What it rests on",
)


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    """The example household for this test alone, which changes it."""
    with running(tmp_path, DAYTIME, "--example") as house:
        yield house


def open_brood(page: Page, house: House, male: str) -> None:
    """Open the brood under way of that male."""
    page.goto(f"{house.origin}/broods")
    tap(page.locator('main li:not(.over) a[href^="/brood/"]').filter(has_text=male))
    page.get_by_role("heading", name=male, level=1).wait_for()


def unfold(page: Page, title: str) -> Locator:
    """Open a section of the page; what it holds."""
    summary = page.locator("summary", has_text=title)
    tap(summary)
    return page.locator("details", has=summary).last


def test_what_was_learned_is_said_and_leads_to_the_brood_that_taught_it(browser: Browser, example: House):
    with visiting(browser, example, DAY) as page:
        open_brood(page, example, "Quill")
        expect(page.get_by_text("Your last brood from Quill hatched 0.3 days earlier than the books")).to_be_visible()
        tap(unfold(page, "Learned from").get_by_role("link", name="Quill"))
        expect(page.get_by_role("heading", name="Caught")).to_be_visible()


def test_the_looks_that_count_lead_to_their_place_in_the_list(browser: Browser, example: House):
    with visiting(browser, example, DAY) as page:
        open_brood(page, example, "Quill")
        most = page.get_by_role("link", name="full, silver")
        expect(most).to_contain_text("It puts hatching 0.5 days earlier.")
        tap(most)
        there = page.locator("li[id^=look-]", has_text="full, silver")
        expect(there).to_be_in_viewport()
        expect(there).to_contain_text("Without this look: hatching 0.5 days later.")


def test_the_next_look_is_named_with_what_would_change_the_night(browser: Browser, example: House):
    with visiting(browser, example, DAY) as page:
        open_brood(page, example, "Quill")
        panel = page.locator("section", has=page.get_by_role("heading", name="The next look"))
        expect(panel).to_contain_text("today, 19:30, at the usual feeding, lamps on")
        expect(panel).to_contain_text("Look for tails between his lips.")
        expect(panel).to_contain_text("If tails are seen (25")
        tap(panel.get_by_role("link", name="Log a look"))
        expect(page.get_by_role("button", name="seen", exact=True).first).to_be_visible()


def test_away_is_reckoned_without_a_connection_and_the_rest_says_that_it_needs_one(browser: Browser, example: House):
    with visiting(browser, example, DAY) as page:
        open_brood(page, example, "Quill")
        # What the section is made of has come once; the worker, which keeps it for good, is another test's matter.
        unfold(page, "Away on some of these nights?")
        for section in ("How the forecast developed", "What it rests on"):
            unfold(page, section)
        expect(page.get_by_text("One assumption could make it another night")).to_be_visible(timeout=PATIENCE_MS)
        page.context.set_offline(True)
        away = page.locator("details", has_text="First night away").last
        expect(away).to_contain_text("Hand over: somebody else catches him on Fri 27 Nov")
        later = away.get_by_role("group", name="First night away").get_by_role("button", name="One night later")
        tap(later)
        expect(away).to_contain_text("The night to catch, Fri 27 Nov, lies outside these nights.")
        nights = unfold(page, "The nights as a table")
        expect(nights.get_by_role("row", name="Fri 27 Nov")).not_to_contain_text("away")
        expect(nights.get_by_role("row", name="Sat 28 Nov")).to_contain_text("away")


def test_what_only_the_server_knows_says_so_without_a_connection(browser: Browser, example: House):
    with visiting(browser, example, DAY) as page:
        open_brood(page, example, "Quill")
        page.route("**/api/v1/broods/**", lambda route: route.abort())
        rests = unfold(page, "What it rests on")
        expect(rests).to_contain_text("No connection.")
        page.unroute("**/api/v1/broods/**")
        tap(rests.get_by_role("button", name="Try again"))
        expect(rests).to_contain_text("How much of the time to hatching has passed", timeout=PATIENCE_MS)


def test_forecasts_are_played_back_by_the_keyboard(browser: Browser, house: House):
    with visiting(browser, house, DAY) as page:
        open_brood(page, house, "Quill")
        tap(page.get_by_role("button", name="Still full"))
        expect(page.get_by_text("It rests on 11 looks")).to_be_visible(timeout=PATIENCE_MS)
        back = unfold(page, "How the forecast developed")
        expect(back).to_contain_text("2 of 2")
        back.get_by_role("slider").press("ArrowLeft")
        expect(back).to_contain_text("1 of 2")
        expect(back.get_by_role("button", name="Earlier")).to_be_disabled()
        back.get_by_role("button", name="Newest").press("Enter")
        expect(back).to_contain_text("2 of 2")


def test_a_look_that_does_not_fit_is_mended_where_it_is_named(browser: Browser, house: House):
    with visiting(browser, house, DAY) as page:
        open_brood(page, house, "Quill")
        tap(page.get_by_role("link", name="Look at Quill"))
        for group, value in {"Mouth": "normal", "Eggs": "orange", "Tails between his lips": "seen"}.items():
            tap(page.get_by_role("group", name=group).get_by_role("button", name=value, exact=True))
        tap(page.get_by_role("button", name="Save", exact=True))
        saved(page)
        open_brood(page, house, "Quill")
        heading = page.get_by_role("heading", name="One look does not fit")
        expect(heading).to_be_visible(timeout=PATIENCE_MS)
        tap(page.get_by_role("button", name="It was a slip, or another male: correct it"))
        tap(page.get_by_role("button", name="It was a slip: take it out"))
        expect(heading).to_have_count(0)


def test_what_an_old_brood_teaches_anew_is_said_where_the_next_one_leans_on_it(browser: Browser, house: House):
    with visiting(browser, house, DAY) as page:
        open_brood(page, house, "Quill")
        leaning = page.url
        tap(unfold(page, "Learned from").get_by_role("link", name=re.compile("^Saffron, (?!.*lost)")))
        tap(page.get_by_role("button", name="Correct: He was caught"))
        for _ in range(5):
            tap(page.get_by_role("button", name="5 fewer: Young with yolk sac"))
        tap(page.get_by_role("button", name="1 more: Eggs"))
        tap(page.get_by_role("button", name="Save the correction"))
        expect(page.get_by_text("Corrected", exact=True)).to_be_visible()
        page.goto(leaning)
        anew = page.get_by_text("Hatching is reckoned anew")
        expect(anew).to_contain_text("brood of", timeout=PATIENCE_MS)
        expect(anew).to_contain_text("teaches was corrected or added")
        tap(page.get_by_role("link", name="Open that brood"))
        tap(page.get_by_role("button", name="It is not over: open again"))
        expect(page.get_by_role("heading", name="Caught")).to_have_count(0)
        page.goto(leaning)
        expect(anew).to_contain_text("teaches nothing any more", timeout=PATIENCE_MS)


@pytest.mark.parametrize("view", [NIGHT, View("dark", 1440)], ids=["night on a phone", "dark at a desk"])
def test_opened_sections_are_red_by_night_and_axe_finds_nothing(browser: Browser, example: House, view: View):
    with visiting(browser, example, view) as page:
        open_brood(page, example, "Quill")
        for section in SECTIONS:
            unfold(page, section)
        expect(page.get_by_text("One assumption could make it another night")).to_be_visible(timeout=PATIENCE_MS)
        expect(page.get_by_text("Issued today")).to_be_visible()
        sound(page, view)
