"""What was changed: two people who wrote apart, an earlier value brought back, and a device whose clock was wrong."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import pytest
import sqlalchemy as sa
from playwright.sync_api import Browser, Locator, Page, expect

from browser.house import DAYTIME, House, running, until
from browser.walk import View, sound, visiting
from holdwatch.store.database import open_database, reading
from holdwatch.store.tables import record

DAY = View("light", 390)
LOOK = "Tue 24 Nov, 22:00"


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    """The example household for this test alone, which changes it."""
    with running(tmp_path, DAYTIME, "--example") as house:
        yield house


@contextmanager
def phones(browser: Browser, house: House, *logins: str) -> Iterator[list[Page]]:
    """A phone each, all of them without a connection."""
    with ExitStack() as open_phones:
        pages = [open_phones.enter_context(visiting(browser, house, DAY, login=login)) for login in logins]
        for page in pages:
            until(page, "navigator.serviceWorker.controller !== null")
            page.context.set_offline(True)
        yield pages


def connect(page: Page, house: House) -> None:
    """Let the phone have its connection again, and agree."""
    page.context.set_offline(False)
    page.goto(f"{house.origin}/household")
    page.get_by_role("button", name="Bring up to date now").click()
    expect(page.locator("main").get_by_text("Nothing is waiting to go up").first).to_be_visible()
    expect(page.locator("main").get_by_text(re.compile("^Up to date with the household"))).to_be_visible()


def put_lamps(page: Page, house: House, out: str) -> None:
    """Say that the lamps of the hall tank go out at that hour."""
    page.goto(f"{house.origin}/household")
    page.get_by_role("button", name="Change Hall tank").click()
    page.get_by_label("Lamps go out").fill(out)
    page.get_by_role("button", name="Save the tank").click()
    expect(page.get_by_text("Saved on this device")).to_be_visible()


def open_brood(page: Page, house: House) -> None:
    page.goto(f"{house.origin}/broods")
    page.locator('main li:not(.over) a[href^="/brood/"]').first.click()
    page.get_by_role("heading", name="Quill", level=1).wait_for()


def see_mouth(page: Page, house: House, value: str) -> None:
    """Correct what was seen of the mouth on the evening before."""
    open_brood(page, house)
    page.get_by_role("button", name=f"Correct the look of {LOOK}").click()
    page.get_by_role("group", name="Mouth").get_by_role("button", name=value, exact=True).click()
    page.get_by_role("button", name="Save the correction").click()
    expect(page.get_by_text("Saved on this device")).to_be_visible()


def hall_tank(house: House) -> str:
    """The id of the hall tank, as the server has it."""
    engine = open_database(f"sqlite:///{house.folder / 'holdwatch.sqlite3'}")
    with reading(engine) as db:
        tanks = db.execute(sa.select(record.c.id, record.c.fields).where(record.c.kind == "tank")).all()
    engine.dispose()
    return next(made for made, fields in tanks if "Hall tank" in fields)


def lamps(page: Page) -> Locator:
    return page.locator("article", has_text="Hall tank").locator("dd").first


def test_two_who_changed_a_tank_apart_are_told_of_it_and_one_tap_settles_it_for_both(browser: Browser, house: House):
    with phones(browser, house, "mira", "jonas") as (mira, jonas):
        put_lamps(mira, house, "22:00")
        put_lamps(jonas, house, "21:00")
        connect(mira, house)
        connect(jonas, house)
        connect(mira, house)
        for page in (mira, jonas):
            expect(page.get_by_text("1 entry was changed by two people")).to_be_visible()
            expect(page.get_by_role("link", name=re.compile("Needs attention: *1"))).to_be_visible()
        mira.get_by_role("link", name="Two people changed this: Hall tank").click()
        question = mira.locator(".notice", has_text="Neither had seen what the other wrote")
        expect(question.locator("li").filter(has_text="21:00")).to_contain_text(re.compile("Jonas.*stands now"))
        expect(question.locator("li").filter(has_text="22:00")).to_contain_text("Mira, on this device")
        question.get_by_role("button", name="Keep Lamps go out: 22:00").click()
        expect(mira.get_by_text("Lamps go out: 22:00 kept")).to_be_visible()
        expect(question).to_have_count(0)
        for page in (mira, jonas):
            connect(page, house)
            expect(lamps(page)).to_have_text("on 08:30, out 22:00")
            expect(page.get_by_text(re.compile("changed by two people|Two people changed this"))).to_have_count(0)


def test_what_stands_is_kept_by_a_tap_as_well_and_nobody_is_asked_again(browser: Browser, house: House):
    with phones(browser, house, "mira", "jonas") as (mira, jonas):
        see_mouth(mira, house, "smaller")
        see_mouth(jonas, house, "normal")
        for page in (mira, jonas, mira):
            connect(page, house)
        open_brood(mira, house)
        mira.get_by_role("link", name=f"Two people changed this: {LOOK}").click()
        mira.get_by_role("button", name="Keep Mouth: normal").click()
        expect(mira.get_by_text("Mouth: normal kept")).to_be_visible()
        # Both values stay, to be brought back.
        expect(mira.get_by_role("button", name="Bring back Mouth: smaller")).to_be_visible()
        for page in (mira, jonas):
            connect(page, house)
            page.goto(f"{house.origin}/history")
            expect(page.get_by_text("Nothing waits to be settled.")).to_be_visible()


def test_an_earlier_value_is_brought_back_without_a_connection_once_it_was_shown(browser: Browser, house: House):
    with visiting(browser, house, DAY) as page:
        until(page, "navigator.serviceWorker.controller !== null")
        see_mouth(page, house, "smaller")
        connect(page, house)
        open_brood(page, house)
        page.get_by_role("link", name="All that was changed in this brood").click()
        expect(page.get_by_text("Replaced by smaller (Mira).")).to_be_visible()
        page.context.set_offline(True)
        page.reload()
        expect(page.get_by_text(re.compile("No connection: shown as it was"))).to_be_visible()
        page.get_by_role("button", name="Bring back Mouth: full").click()
        expect(page.get_by_text("Mouth: full again")).to_be_visible()
        expect(page.get_by_text("Now: full Mira, on this device, not gone up yet")).to_be_visible()
        page.get_by_role("button", name="Undo").click()
        expect(page.get_by_text("Now: smaller Mira, on this device, not gone up yet")).to_be_visible()
        page.get_by_role("button", name="Bring back Mouth: full").first.click()
        expect(page.get_by_text("Now: full Mira, on this device, not gone up yet")).to_be_visible()
        connect(page, house)
        open_brood(page, house)
        look = page.locator("li", has=page.get_by_role("button", name=f"Correct the look of {LOOK}"))
        expect(look).to_contain_text("full")


def test_who_has_left_is_still_named_and_a_helper_may_look_but_not_bring_a_tank_back(browser: Browser, house: House):
    with phones(browser, house, "mira", "jonas", "tove") as (mira, jonas, tove):
        put_lamps(jonas, house, "22:00")
        connect(jonas, house)
        connect(mira, house)
        put_lamps(mira, house, "21:15")
        mira.get_by_role("button", name="Remove Jonas").click()
        mira.get_by_role("alert").get_by_role("button", name="Remove").click()
        expect(mira.get_by_text("keeper, left")).to_be_visible()
        connect(tove, house)
        tove.goto(f"{house.origin}/history/{hall_tank(house)}")
        expect(tove.get_by_text(re.compile("^Jonas, with "))).to_be_visible()
        expect(tove.get_by_text("Replaced by 21:15 (Mira).")).to_be_visible()
        expect(tove.get_by_role("button", name=re.compile("^Bring back"))).to_have_count(0)
        expect(tove.get_by_text("A keeper or the owner can bring an earlier value back.")).to_be_visible()


@pytest.mark.parametrize("view", [DAY, View("night", 390), View("light", 1440)], ids=str)
def test_the_pages_can_be_read_and_hit_in_every_skin(browser: Browser, house: House, view: View):
    with phones(browser, house, "mira", "jonas") as (mira, jonas):
        see_mouth(mira, house, "smaller")
        put_lamps(mira, house, "22:00")
        put_lamps(jonas, house, "21:00")
        see_mouth(jonas, house, "normal")
        for page in (mira, jonas):
            connect(page, house)
    with visiting(browser, house, view) as page:
        open_brood(page, house)
        brood = page.url
        page.get_by_role("link", name=f"Two people changed this: {LOOK}").wait_for()
        for address in ("/history", brood.removeprefix(house.origin).replace("/brood/", "/history/"), "/household"):
            page.goto(house.origin + address)
            page.get_by_text(re.compile("Neither had seen|The later one stands|changed by two people")).first.wait_for()
            sound(page, view)
