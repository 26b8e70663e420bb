"""How one wants to be reminded, said in Household; and the page that a link in a letter opens, in a real browser."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
import sqlalchemy as sa
from playwright.sync_api import Browser, Locator, Page, expect

from browser.house import DAYTIME, House, running
from browser.walk import View, findings, sound, stray_colours, tap, visiting
from holdwatch.records.instants import milliseconds
from holdwatch.services.duties.kept import kept
from holdwatch.services.duties.links import make_link, read_link
from holdwatch.store import tables
from holdwatch.store.database import open_database, writing

VIEWS = [View("light", 390), View("night", 390)]


def panel(page: Page) -> Locator:
    return page.locator("section.panel", has=page.get_by_role("heading", name="How I am reminded", exact=True))


@pytest.mark.parametrize("view", VIEWS, ids=lambda view: view.skin)
def test_quiet_hours_are_said_and_kept(browser: Browser, example: House, view: View):
    with visiting(browser, example, view) as page:
        page.goto(f"{example.origin}/household")
        tap(panel(page).get_by_role("button", name="Every night"))
        panel(page).get_by_label("Quiet from").fill("23:15")
        panel(page).get_by_label("Quiet until").fill("06:30")
        tap(panel(page).get_by_role("button", name="May wake me"))
        panel(page).get_by_text("By the clock of Europe/Copenhagen.").wait_for()
        # No server for mail is set up here.
        assert panel(page).get_by_label("E-mail").count() == 0
        sound(page, view)
        tap(panel(page).get_by_role("button", name="Save"))
        panel(page).get_by_text("Saved.").wait_for()
        page.reload()
        expect(panel(page).get_by_label("Quiet from")).to_have_value("23:15")
        expect(panel(page).get_by_role("button", name="May wake me")).to_have_attribute("aria-pressed", "true")
        panel(page).get_by_label("Quiet until").fill("23:15")
        tap(panel(page).get_by_role("button", name="Save"))
        panel(page).get_by_text("Quiet hours must end at another time than they begin.").wait_for()
        tap(panel(page).get_by_role("group", name="Quiet hours").get_by_role("button", name="None"))
        tap(panel(page).get_by_role("button", name="Save"))
        panel(page).get_by_text("Saved.").wait_for()


@pytest.mark.parametrize("view", VIEWS, ids=lambda view: view.skin)
def test_a_summary_in_the_morning_is_wished_for_and_kept(browser: Browser, example: House, view: View):
    with visiting(browser, example, view) as page:
        page.goto(f"{example.origin}/household")
        tap(panel(page).get_by_role("button", name="Every morning"))
        panel(page).get_by_label("Told at").fill("06:45")
        sound(page, view)
        tap(panel(page).get_by_role("button", name="Save"))
        panel(page).get_by_text("Saved.").wait_for()
        page.reload()
        expect(panel(page).get_by_label("Told at")).to_have_value("06:45")
        morning = panel(page).get_by_role("group", name="A summary of the day in the morning")
        tap(morning.get_by_role("button", name="None"))
        tap(panel(page).get_by_role("button", name="Save"))
        panel(page).get_by_text("Saved.").wait_for()


def new_link(house: House) -> str:
    """A link of the keeper's to a duty that is still to be done; another test may have done one a moment ago."""
    engine = open_database(f"sqlite:///{house.folder / 'holdwatch.sqlite3'}")
    person = sa.select(tables.person.c.person_id).filter_by(role="keeper")
    still = sa.select(tables.duty).where(tables.duty.c.until_at > milliseconds(house.now()))
    with writing(engine) as db:
        for row in db.execute(still).all():
            path = make_link(db, row.household_id, db.scalar(person), kept(row).duty, house.now())
            if read_link(db, path.removeprefix("/d/"), house.now()).state == "open":
                break
    engine.dispose()
    return house.origin + path


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    """A server of its own: what is done by a link stays done."""
    with running(tmp_path, DAYTIME, "--example") as house:
        yield house


def test_a_link_acts_in_a_browser_that_nobody_is_signed_in_on(browser: Browser, house: House):
    page = browser.new_page(viewport={"width": 390, "height": 844})
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    address = new_link(house)
    page.goto(address)
    assert page.locator("button").count() == 1
    while page.locator("button").count():
        pressed = page.locator("button").inner_text()
        page.locator("button").click()
        page.get_by_text("Written down").wait_for()
    assert pressed == "It is done"
    page.goto(address)
    page.get_by_text("This is done.").wait_for()
    assert page.context.cookies() == []
    assert [line for line in said if "Refused" in line or "violates" in line] == []
    page.close()


@pytest.mark.parametrize("skin", ["day", "night"])
def test_the_page_of_a_link_is_large_and_plain_in_both_skins(browser: Browser, example: House, skin: str):
    context = browser.new_context(viewport={"width": 390, "height": 844}, bypass_csp=True)
    page = context.new_page()
    page.goto(new_link(example))
    page.evaluate(f"document.documentElement.className = '{skin}'")
    box = page.locator("button").bounding_box()
    assert box is not None and box["height"] >= (72 if skin == "night" else 64)
    assert list(findings(page)) == []
    assert page.evaluate("document.documentElement.scrollWidth") == 390
    if skin == "night":
        assert stray_colours(page.screenshot(full_page=True)) == []
    context.close()
