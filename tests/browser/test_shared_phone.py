"""One phone that two people share: one tap says who logs, without a connection, and each is the author of his own."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
import sqlalchemy as sa
from playwright.sync_api import Browser, BrowserContext, Locator, Page, Playwright, expect

from browser.house import DAYTIME, House, running, until
from browser.test_offline import come_in, phone
from browser.walk import View, findings, stray_colours, tap, visiting
from holdwatch.example import household as ours
from holdwatch.store.database import open_database, reading
from holdwatch.store.tables import person, record

NIGHT = View("night", 390)
PATIENCE_MS = 15_000


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    """The example household for this test alone, which writes in it."""
    with running(tmp_path / "house", DAYTIME, "--example") as house:
        yield house


def sign_in_beside(page: Page, house: House, login: str) -> None:
    """Somebody signs in beside whoever is there, by the way that Household shows."""
    page.goto(f"{house.origin}/household")
    tap(page.get_by_role("link", name="Let somebody else sign in here"))
    expect(page.get_by_text("stays signed in on this device")).to_be_visible()
    page.get_by_label("Sign-in name").fill(login)
    page.locator("input[type=password]").fill(ours.PASSWORD)
    page.wait_for_timeout(300)
    tap(page.get_by_role("button", name="Sign in"))
    page.wait_for_url(f"{house.origin}/household")


def names(page: Page) -> Locator:
    """The names of those who may log."""
    return page.get_by_role("group", name="Logging as")


def logs_as(page: Page, name: str) -> None:
    """One tap, and it is shown who logs."""
    tap(names(page).get_by_role("button", name=name))
    expect(names(page).get_by_role("button", pressed=True)).to_have_text(name)


def say_still_full(page: Page) -> None:
    tap(page.get_by_role("button", name="Still full").first)
    expect(page.get_by_text("Saved on this device").first).to_be_visible()


def looks_by_author(house: House) -> Counter[str]:
    """How many looks the server has of each person."""
    engine = open_database(f"sqlite:///{house.folder / 'holdwatch.sqlite3'}")
    with reading(engine) as db:
        people = {row.person_id: row.name for row in db.execute(sa.select(person.c.person_id, person.c.name))}
        found = Counter(
            people[author] for author in db.scalars(sa.select(record.c.author).where(record.c.kind == "look"))
        )
    engine.dispose()
    return found


def wait_for(page: Page, house: House, before: Counter[str], **more: int) -> None:
    """Wait until the server has so many more looks of each; what is refused would never come."""
    wanted = Counter(more)
    for _ in range(PATIENCE_MS // 100):
        if looks_by_author(house) - before == wanted:
            break
        page.wait_for_timeout(100)
    assert looks_by_author(house) - before == wanted


def test_two_people_log_on_one_phone_offline_and_each_is_the_author(
    playwright: Playwright, chromium: str, house: House, tmp_path: Path
):
    before = looks_by_author(house)
    with phone(playwright, chromium, house, tmp_path / "phone") as context:
        page = come_in(context, house)
        sign_in_beside(page, house, "jonas")
        page.goto(f"{house.origin}/")
        expect(names(page).get_by_role("button", pressed=True)).to_have_text("Jonas")
        context.set_offline(True)
        page.reload()
        say_still_full(page)
        logs_as(page, "Mira")
        say_still_full(page)
    # The browser was closed without a connection; nobody signs in again.
    with phone(playwright, chromium, house, tmp_path / "phone") as context:
        page = context.pages[0]
        page.goto(f"{house.origin}/")
        expect(names(page).get_by_role("button", pressed=True)).to_have_text("Mira")
        wait_for(page, house, before, Mira=1, Jonas=1)


def test_the_bar_of_look_says_who_logs_and_changes_it_in_one_tap(browser: Browser, house: House):
    before = looks_by_author(house)
    with visiting(browser, house, NIGHT) as page:
        sign_in_beside(page, house, "jonas")
        page.goto(f"{house.origin}/look")
        tap(page.get_by_role("group", name="Mouth").get_by_role("button", name="full"))
        bar = page.locator(".save-bar")
        expect(bar.get_by_role("button", pressed=True)).to_have_text("as Jonas")
        tap(bar.get_by_role("button", name="Mira"))
        expect(bar.get_by_role("button", pressed=True)).to_have_text("as Mira")
        # What was said of the look is still there.
        expect(page.get_by_role("group", name="Mouth").get_by_role("button", pressed=True)).to_have_text("full")
        assert list(findings(page)) == []
        assert stray_colours(page.screenshot()) == []
        low = [box["height"] for box in (one.bounding_box() for one in bar.get_by_role("button").all()) if box]
        assert min(low) >= 72
        tap(page.get_by_role("button", name="Save", exact=True))
        wait_for(page, house, before, Mira=1)


def test_ten_minutes_later_it_asks_large_and_blocks_nothing(browser: Browser, house: House):
    before = looks_by_author(house)
    with visiting(browser, house, NIGHT) as page:
        sign_in_beside(page, house, "jonas")
        page.goto(f"{house.origin}/look")
        large = page.get_by_role("group", name="Who is logging?")
        expect(names(page)).to_be_visible()
        expect(large).to_have_count(0)
        house.pass_time(page.context, minutes=11)
        page.goto(f"{house.origin}/look")
        expect(large).to_be_visible()
        assert all((one.bounding_box() or {})["height"] >= 72 for one in large.get_by_role("button").all())
        assert list(findings(page)) == []
        # Whoever does not answer logs all the same, in the name that is shown.
        tap(page.get_by_role("group", name="Mouth").get_by_role("button", name="full"))
        tap(page.get_by_role("button", name="Save", exact=True))
        expect(page.get_by_text("Saved on this device").first).to_be_visible()
        page.goto(f"{house.origin}/look")
        expect(names(page)).to_be_visible()
        expect(large).to_have_count(0)
        wait_for(page, house, before, Jonas=1)


def test_each_signs_himself_out_and_the_other_goes_on(browser: Browser, house: House):
    with visiting(browser, house, View("light", 390)) as page:
        sign_in_beside(page, house, "jonas")
        page.get_by_role("button", name="Sign Jonas out on this device").click()
        page.get_by_role("alert").get_by_role("button", name="Sign Jonas out on this device").click()
        expect(page.get_by_text("Somebody else may log on this device too")).to_be_visible()
        expect(page.get_by_role("heading", level=1).locator("xpath=..")).to_contain_text("Mira, owner")
        expect(page.get_by_role("button", name="Sign out on this device")).to_be_visible()
        page.goto(f"{house.origin}/look")
        expect(page.locator(".save-bar")).to_be_visible()
        expect(names(page)).to_have_count(0)
        assert len(page.context.cookies()) == 1


def test_two_tabs_show_the_same_name(playwright: Playwright, chromium: str, house: House, tmp_path: Path):
    before = looks_by_author(house)
    with phone(playwright, chromium, house, tmp_path / "phone") as context:
        one = come_in(context, house)
        sign_in_beside(one, house, "jonas")
        other = _another_tab(context, house)
        one.goto(f"{house.origin}/")
        logs_as(one, "Mira")
        expect(names(other).get_by_role("button", pressed=True)).to_have_text("Mira")
        say_still_full(other)
        wait_for(other, house, before, Mira=1)


def _another_tab(context: BrowserContext, house: House) -> Page:
    page = context.new_page()
    page.goto(f"{house.origin}/")
    expect(names(page).get_by_role("button", pressed=True)).to_have_text("Jonas")
    until(page, "navigator.serviceWorker.controller !== null")
    return page
