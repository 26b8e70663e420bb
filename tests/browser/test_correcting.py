"""What was written down is put right long after *undo* is gone: a look, a catch, and an alarm that stands."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from browser.house import DAYTIME, House, running
from browser.walk import View, findings, saved, tap, visiting

NIGHT, DAY = View("night", 390), View("light", 390)
NEWEST_LOOK = "Tue 24 Nov, 22:00"
# The server works out two forecasts meanwhile, which a busy machine takes its time for.
PATIENCE_MS = 15_000


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    """The example household for this test alone, which changes it."""
    with running(tmp_path, DAYTIME, "--example") as house:
        yield house


def open_brood(page: Page, house: House, male: str) -> str:
    """Open the brood under way of that male anew, as on another day; its address."""
    page.goto(f"{house.origin}/broods")
    tap(page.locator('main li:not(.over) a[href^="/brood/"]').filter(has_text=male))
    page.get_by_role("heading", name=male, level=1).wait_for()
    return page.url


def begin_watch(page: Page, house: House, male: str) -> None:
    """Say that this male, whom the household knows, holds as well."""
    page.goto(f"{house.origin}/start/male")
    tap(page.get_by_role("button", name=male, exact=True))
    tap(page.get_by_role("button", name="Save", exact=True))
    page.get_by_role("heading", name=male, level=1).wait_for()


def correct_look(page: Page, when: str, question: str) -> None:
    """Open that look's correction, and what answers the question."""
    tap(page.get_by_role("button", name=f"Correct the look of {when}"))
    tap(page.get_by_role("button", name=f"Change: {question}"))


def save(page: Page) -> None:
    """Save, and wait until the form has closed: what is said of an earlier saving may still stand."""
    button = page.get_by_role("button", name="Save the correction")
    tap(button)
    expect(button).to_have_count(0)
    expect(page.get_by_text("Saved on this device")).to_be_visible(timeout=PATIENCE_MS)


def test_a_look_is_given_its_true_day_and_its_true_male(browser: Browser, house: House):
    with visiting(browser, house, NIGHT) as page:
        begin_watch(page, house, "Comma")
        open_brood(page, house, "Quill")
        correct_look(page, NEWEST_LOOK, "When he was looked at")
        tap(page.get_by_role("button", name="A day earlier"))
        tap(page.get_by_role("button", name="A quarter of an hour earlier"))
        save(page)
        moved = "Mon 23 Nov, 21:45"
        correct_look(page, moved, "Which male?")
        assert list(findings(page)) == []
        tap(page.get_by_role("group", name="Which male?").get_by_role("button", name="Comma"))
        save(page)
        of_look = page.get_by_role("button", name=f"Correct the look of {moved}")
        expect(of_look).to_have_count(0, timeout=PATIENCE_MS)
        open_brood(page, house, "Comma")
        correct_look(page, moved, "Which male?")
        tap(page.get_by_role("button", name="One of them, unsure which"))
        save(page)
        expect(of_look).to_have_count(0, timeout=PATIENCE_MS)
        open_brood(page, house, "Quill")
        asked = page.locator("section", has=page.get_by_role("heading", name="Whose look was it? (Hall tank)"))
        tap(asked.get_by_role("button", name="Quill"))
        expect(asked).to_have_count(0, timeout=PATIENCE_MS)
        expect(of_look).to_be_visible(timeout=PATIENCE_MS)


def test_a_catch_is_recounted_and_taken_back_long_afterwards(browser: Browser, house: House):
    with visiting(browser, house, DAY) as page:
        address, kept = open_brood(page, house, "Quill"), page.locator(".figure", has_text="young kept")
        page.get_by_role("button", name="He was caught").click()
        page.get_by_role("button", name="5 more: Free young").click()
        page.get_by_role("button", name="Save: He was caught").click()
        expect(kept).to_have_text("5 young kept", timeout=PATIENCE_MS)
        page.goto(address)
        page.get_by_role("button", name="Correct: He was caught").click()
        page.get_by_role("button", name="1 more: Young with yolk sac").click()
        save(page)
        expect(kept).to_have_text("6 young kept", timeout=PATIENCE_MS)
        page.goto(address)
        page.get_by_role("button", name="Correct: He was caught").click()
        page.get_by_role("button", name="It was a slip: take it out").click()
        expect(page.get_by_role("button", name="Still full")).to_be_visible(timeout=PATIENCE_MS)
        page.get_by_role("button", name="Undo").click()
        expect(kept).to_have_text("6 young kept", timeout=PATIENCE_MS)


def test_a_reminder_of_loose_young_finds_its_alarm_after_the_brood_was_ended(browser: Browser, house: House):
    with visiting(browser, house, NIGHT) as page:
        brood = open_brood(page, house, "Quill")
        page.goto(brood.replace("/brood/", "/look/"))
        tap(page.get_by_role("group", name="Loose young in the tank").get_by_role("button", name="seen"))
        tap(page.get_by_role("button", name="Save", exact=True))
        saved(page)
        open_brood(page, house, "Quill")
        tap(page.get_by_role("button", name="He let them go"))
        tap(page.get_by_role("button", name="Save: He let them go"))
        expect(page.get_by_role("heading", name="Let go today")).to_be_visible(timeout=PATIENCE_MS)
        night = f"{house.now():%Y-%m-%d}"
        page.goto(f"{brood}?duty=loose:{brood.rsplit('/', 1)[-1]}:{night}")
        alarm = page.get_by_text("Pumps off, or guard the intakes.")
        over = page.get_by_text("What the reminder spoke of is done or over by now.")
        expect(alarm).to_be_visible(timeout=PATIENCE_MS)
        expect(over).to_be_hidden(timeout=PATIENCE_MS)
        assert list(findings(page)) == []
        tap(page.get_by_role("button", name="They are safe"))
        expect(alarm).to_be_hidden(timeout=PATIENCE_MS)
        expect(over).to_be_visible(timeout=PATIENCE_MS)
