"""Who is away is said on Household, without a connection too, and the others' reminders follow."""

from __future__ import annotations

from pathlib import Path

import pytest
import sqlalchemy as sa
from playwright.sync_api import Browser, Page, expect

from browser.house import DAYTIME, House, running
from browser.walk import View, saved, sound, tap, visiting
from holdwatch.store.database import open_database, reading
from holdwatch.store.tables import away

VIEWS = [View("light", 390), View("night", 390), View("night", 320)]


def days(house: House) -> list[float]:
    """How long each absence is that the server's queue knows of, in days."""
    engine = open_database(f"sqlite:///{house.folder / 'holdwatch.sqlite3'}")
    with reading(engine) as db:
        found = [(row.until_at - row.since_at) / 86_400_000 for row in db.execute(sa.select(away))]
    engine.dispose()
    return found


def wait_for(page: Page, house: House, wanted: list[float]) -> None:
    for _ in range(100):
        if days(house) == wanted:
            return
        page.wait_for_timeout(100)
    assert days(house) == wanted


@pytest.mark.parametrize("view", VIEWS)
def test_who_is_away_is_said_offline_shown_and_taken_out_again(browser: Browser, tmp_path: Path, view: View):
    with running(tmp_path, DAYTIME, "--example") as house, visiting(browser, house, view) as page:
        page.goto(f"{house.origin}/household")
        panel = page.locator("section", has=page.get_by_role("heading", name="Who is away"))
        expect(panel).to_contain_text("Nobody is away.")
        page.context.set_offline(True)
        tap(panel.get_by_role("button", name="Somebody is away"))
        tap(panel.get_by_role("button", name="Jonas", exact=True))
        tap(panel.get_by_role("group", name="First day away").get_by_role("button", name="One day later"))
        tap(panel.get_by_role("group", name="Last day away").get_by_role("button", name="One day later"))
        sound(page, view)
        tap(panel.get_by_role("button", name="Save", exact=True))
        saved(page)
        expect(panel).to_contain_text("Thu 26 Nov to Fri 27 Nov")
        page.context.set_offline(False)
        wait_for(page, house, [2.0])
        tap(panel.get_by_role("button", name="Take out: Jonas away Thu 26 Nov to Fri 27 Nov"))
        expect(panel).to_contain_text("Nobody is away.")
        wait_for(page, house, [])
