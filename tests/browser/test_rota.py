"""Whose turn it is is said on Household, without a connection too, and Tonight tells each whose the duties are."""

from __future__ import annotations

from pathlib import Path

import pytest
import sqlalchemy as sa
from playwright.sync_api import Browser, Locator, Page, expect

from browser.house import DAYTIME, House, running
from browser.walk import View, saved, sound, tap, visiting
from holdwatch.store.database import open_database, reading
from holdwatch.store.tables import rota

VIEWS = [View("light", 390), View("night", 390), View("night", 320)]
# The evening of the tests is a Wednesday's, and a look at the feeding is due in it.
LOOK = "Look at the feeding"


def panel_on(page: Page) -> Locator:
    return page.locator("section", has=page.get_by_role("heading", name="Whose turn"))


def evening(page: Page, person: str, day: str) -> Locator:
    return panel_on(page).get_by_role("group", name=f"Evenings of {person}").get_by_role("button", name=day)


def duty(page: Page) -> Locator:
    """The row of the look; at night the duties are folded into one sentence first."""
    show = page.get_by_role("button", name="Show what is to do")
    page.get_by_role("button", name="Still full").first.wait_for()
    if show.is_visible():
        tap(show)
    return page.locator("li.duty", has=page.get_by_role("heading", name=LOOK))


def group_of(row: Locator) -> Locator:
    """The heading under which the row stands."""
    return row.locator("xpath=../preceding-sibling::h2[1]")


def wait_for(page: Page, house: House, wanted: list[str]) -> None:
    """Until the server's queue knows of those days."""
    engine = open_database(f"sqlite:///{house.folder / 'holdwatch.sqlite3'}")
    try:
        for _ in range(100):
            with reading(engine) as db:
                found = sorted(db.execute(sa.select(rota.c.weekdays)).scalars())
            if found == wanted:
                return
            page.wait_for_timeout(100)
        assert found == wanted
    finally:
        engine.dispose()


@pytest.mark.parametrize("view", VIEWS)
def test_a_turn_is_said_offline_kept_at_once_and_taken_back(browser: Browser, tmp_path: Path, view: View):
    with running(tmp_path, DAYTIME, "--example") as house, visiting(browser, house, view) as page:
        page.goto(f"{house.origin}/household")
        expect(evening(page, "Jonas", "Wednesday")).to_have_attribute("aria-pressed", "false")
        page.context.set_offline(True)
        for day in ("Wednesday", "Monday", "Sunday"):
            tap(evening(page, "Jonas", day))
        saved(page)
        expect(evening(page, "Jonas", "Sunday")).to_have_attribute("aria-pressed", "true")
        tap(page.get_by_role("button", name="Undo"))
        expect(evening(page, "Jonas", "Sunday")).to_have_attribute("aria-pressed", "false")
        expect(evening(page, "Tove", "Wednesday")).to_have_attribute("aria-pressed", "false")
        sound(page, view)
        page.context.set_offline(False)
        wait_for(page, house, ["MO,WE"])


@pytest.mark.parametrize("view", VIEWS)
def test_tonight_tells_each_whose_turn_it_is_until_somebody_takes_it(browser: Browser, tmp_path: Path, view: View):
    with running(tmp_path, DAYTIME, "--example") as house:
        with visiting(browser, house, view) as page:
            page.goto(f"{house.origin}/household")
            tap(evening(page, "Jonas", "Wednesday"))
            wait_for(page, house, ["WE"])
            page.goto(house.origin)
            row = duty(page)
            expect(row).to_contain_text("Jonas’s turn")
            expect(group_of(row)).to_have_text("Everybody’s")
            sound(page, view)
        with visiting(browser, house, view, login="jonas") as page:
            row = duty(page)
            expect(row).to_contain_text("Your turn")
            expect(group_of(row)).to_have_text("Yours")
            sound(page, view)
            tap(row.get_by_role("button", name="I’ll do it"))
            expect(row).not_to_contain_text("Your turn")
            expect(row).to_contain_text("Yours")
