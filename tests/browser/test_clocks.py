"""A phone whose clock is wrong by hours or by a year, or is set between two taps: its looks are dated right."""

from __future__ import annotations

import json
import re
from datetime import datetime, timedelta

import pytest
import sqlalchemy as sa
from playwright.sync_api import Browser, Page, expect

from browser.house import House
from browser.test_history import house, open_brood, phones
from browser.walk import findings
from holdwatch.records.instants import parse_instant
from holdwatch.store.database import open_database, reading
from holdwatch.store.tables import record

__all__ = ["house"]
YEAR = timedelta(days=365)
NONE = timedelta(0)


def looks(house: House) -> dict[str, dict]:
    """The looks that the server has, by their ids, each field with its value."""
    engine = open_database(f"sqlite:///{house.folder / 'holdwatch.sqlite3'}")
    with reading(engine) as db:
        rows = db.execute(sa.select(record.c.id, record.c.fields).where(record.c.kind == "look")).all()
    engine.dispose()
    return {made: json.loads(fields) for made, fields in rows}


def wait_for_new(page: Page, house: House, before: dict[str, dict], count: int) -> list[dict]:
    """So many looks as the server has got since, in the order of their times."""
    for _ in range(200):
        found = [fields for made, fields in looks(house).items() if made not in before]
        if len(found) == count:
            return sorted(found, key=lambda fields: fields["at"])
        page.wait_for_timeout(50)
    raise AssertionError(f"not {count} new looks: {found}")


def come_online(page: Page) -> None:
    """Let the page have its connection again, as it stands: its stopwatch is what knows."""
    page.context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")


def say_still_full(page: Page, house: House) -> datetime:
    """One tap; when it truly was."""
    page.get_by_role("button", name="Still full").first.click()
    expect(page.get_by_text("Saved on this device").first).to_be_visible()
    return house.now()


def is_at(fields: dict, instant: datetime) -> bool:
    return abs(parse_instant(fields["at"]) - instant) < timedelta(seconds=30)


@pytest.mark.parametrize("ahead", [YEAR, -YEAR, timedelta(hours=3, minutes=12)], ids=str)
def test_a_look_under_a_wrong_clock_is_dated_right_and_says_how_wrong_the_clock_was(
    browser: Browser, house: House, ahead: timedelta
):
    before = looks(house)
    with phones(browser, house, "mira") as (page,):
        page.clock.set_system_time(house.now() + ahead)
        page.goto(f"{house.origin}/")
        true = say_still_full(page, house)
        come_online(page)
        (look,) = wait_for_new(page, house, before, 1)
        assert is_at(look, true) and "clock_doubtful" not in look
        assert abs(parse_instant(look["at_phone"]) - true - ahead) < timedelta(seconds=30)
        page.clock.set_system_time(house.now())
        open_brood(page, house)
        span = "365 days" if abs(ahead) == YEAR else "3 h 12 min"
        said = f"The device’s clock was {span} {'behind' if ahead < NONE else 'ahead'}."
        expect(page.get_by_text(said, exact=True)).to_be_visible()
        page.get_by_role("button", name=re.compile("^Correct the look of Wed 25 Nov")).click()
        expect(page.locator(".form").get_by_text("By its own clock: ")).to_be_visible()
        assert list(findings(page)) == []


@pytest.mark.parametrize("restarts", [False, True], ids=["in one page", "across a restart"])
@pytest.mark.parametrize("ahead", [(NONE, -YEAR), (NONE, YEAR), (YEAR, NONE), (-YEAR, NONE)], ids=str)
def test_a_clock_that_is_set_between_two_taps(
    browser: Browser, house: House, ahead: tuple[timedelta, timedelta], restarts: bool
):
    before = looks(house)
    with phones(browser, house, "mira") as (page,):
        page.goto(f"{house.origin}/")
        page.clock.set_system_time(house.now() + ahead[0])
        first = say_still_full(page, house)
        page.clock.set_system_time(house.now() + ahead[1])
        if restarts:
            page.goto(f"{house.origin}/")
        second = say_still_full(page, house)
        come_online(page)
        one, other = wait_for_new(page, house, before, 2)
        # They lie so close together that either may come first.
        assert all(is_at(look, first) and is_at(look, second) for look in (one, other)), (one, other)
        doubtful = [look.get("clock_doubtful", False) for look in (one, other)]
        assert sorted(doubtful) == [False, restarts]
