"""Two people log one event: it is shown as one with both names, counted once, and taken apart by one tap."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from browser.house import DAYTIME, House, running
from browser.walk import View, findings, stray_colours, tap, visiting

NIGHT, DAY = View("night", 390), View("light", 390)
PATIENCE_MS = 20_000


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    """The example household for this test alone, which writes in it."""
    with running(tmp_path, DAYTIME, "--example") as house:
        yield house


@pytest.fixture
def phones(browser: Browser, house: House) -> Iterator[tuple[Page, Page]]:
    """Mira's phone in the dark, and Jonas's by day."""
    with ExitStack() as both:
        yield (
            both.enter_context(visiting(browser, house, NIGHT, login="mira")),
            both.enter_context(visiting(browser, house, DAY, login="jonas")),
        )


def ate(page: Page, house: House) -> None:
    """Say that he ate, from the page of his brood."""
    open_brood(page, house)
    tap(page.get_by_role("button", name="Ate", exact=True))
    expect(page.get_by_text("Saved on this device")).to_be_visible()


def open_brood(page: Page, house: House) -> None:
    page.goto(f"{house.origin}/broods")
    tap(page.locator('main li:not(.over) a[href^="/brood/"]').filter(has_text="Quill"))
    page.get_by_role("heading", name="Quill", level=1).wait_for()


def hear(page: Page, there: Locator, count: int) -> None:
    """Let the phone ask what is new, as when somebody looks at it again, until that many are there."""
    for _ in range(PATIENCE_MS // 500):
        if there.count() == count:
            break
        page.evaluate("dispatchEvent(new Event('focus'))")
        page.wait_for_timeout(500)
    expect(there).to_have_count(count)


def both(page: Page) -> Locator:
    """The row of the event that both logged."""
    return page.locator("#looks li.look", has=page.get_by_role("button", name="These were two"))


def test_one_meal_logged_by_two_is_one_with_both_names_and_two_by_one_tap(phones: tuple[Page, Page], house: House):
    mira, jonas = phones
    ate(mira, house)
    house.pass_time(mira.context, minutes=8)
    jonas.context.clock.fast_forward(8 * 60_000)
    ate(jonas, house)
    row = both(mira)
    for page in phones:
        hear(page, both(page), 1)
        expect(both(page)).to_contain_text("Mira and Jonas logged this. It counts once.")
        expect(both(page).get_by_role("button", name="Correct the look of")).to_have_count(2)
    assert list(findings(mira)) == []
    assert stray_colours(mira.screenshot(full_page=True)) == []
    assert (row.get_by_role("button", name="These were two").bounding_box() or {})["height"] >= 72
    tap(row.get_by_role("button", name="These were two"))
    expect(row).to_have_count(0)
    tap(mira.get_by_role("button", name="Undo"))
    expect(row).to_have_count(1)
    tap(row.get_by_role("button", name="These were two"))
    expect(mira.get_by_text("Said to be an event of its own.")).to_be_visible()
    # The other phone is told, and there it may be said to have been one after all.
    hear(jonas, both(jonas), 0)
    jonas.get_by_role("button", name="It was one after all").click()
    expect(both(jonas)).to_have_count(1)
    hear(mira, row, 1)


def test_a_correction_to_either_shows_and_makes_them_two(phones: tuple[Page, Page], house: House):
    mira, jonas = phones
    ate(mira, house)
    ate(jonas, house)
    for page in phones:
        hear(page, both(page), 1)
    theirs = both(jonas).locator("li", has_text="Jonas")
    theirs.get_by_role("button", name="Correct the look of").click()
    jonas.get_by_role("group", name="At a normal feeding, he").get_by_role("button", name="ignored it").click()
    jonas.get_by_role("button", name="Save the correction").click()
    expect(both(jonas)).to_have_count(0)
    hear(mira, both(mira), 0)
    expect(mira.locator("#looks").get_by_text("ignored food").first).to_be_visible()


def test_a_double_tap_is_one_and_says_so(browser: Browser, house: House):
    with visiting(browser, house, DAY) as page:
        open_brood(page, house)
        button = page.get_by_role("button", name="Ate", exact=True)
        button.click()
        button.click()
        expect(both(page)).to_contain_text("Mira logged this twice. It counts once.")


def test_two_who_see_a_courtship_have_seen_one(phones: tuple[Page, Page], house: House):
    for page in phones:
        open_brood(page, house)
        tap(page.get_by_role("button", name="Courtship seen", exact=True))
        tap(page.get_by_role("button", name="Save: Courtship seen"))
        expect(page.get_by_text("Saved on this device")).to_be_visible()
    mira, _ = phones
    happened = mira.locator("#happened li.event")
    hear(mira, happened, 1)
    expect(happened).to_contain_text("Mira and Jonas logged this. It counts once.")
    tap(happened.get_by_role("button", name="These were two"))
    expect(happened).to_have_count(0)


def test_a_temperature_that_two_typed_is_one_reading(phones: tuple[Page, Page], house: House):
    for page in phones:
        page.goto(f"{house.origin}/look")
        tap(page.get_by_role("button", name="Add temperature"))
        tap(page.get_by_role("button", name="Save", exact=True))
        expect(page.get_by_text("Saved on this device").first).to_be_visible()
    mira, _ = phones
    mira.goto(f"{house.origin}/household")
    tap(mira.get_by_role("link", name="Temperature of Hall tank"))
    panel = mira.locator("section.panel", has=mira.get_by_role("heading", name="Typed by two"))
    hear(mira, panel, 1)
    expect(panel).to_contain_text("Mira and Jonas logged this. It counts once.")
    assert list(findings(mira)) == []
    tap(panel.get_by_role("button", name="These were two"))
    expect(panel.get_by_text("Said to be an event of its own.")).to_be_visible()
    tap(panel.get_by_role("button", name="It was one after all"))
    expect(panel.get_by_role("button", name="These were two")).to_be_visible()
