"""What a person does with a duty: on a notification without a connection, on two phones at once, later, left out."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
import sqlalchemy as sa
from playwright.sync_api import Browser, BrowserContext, Locator, Page, Playwright, expect

from browser.house import DAYTIME, House, running, sign_in, until
from browser.test_story import ask_for_reminders, deliver, phone_of
from browser.walk import View, findings, sound, tap, visiting
from channels.push_endpoint import PushEndpoint
from holdwatch.channels.message import Message
from holdwatch.channels.push import payload
from holdwatch.example import household as ours
from holdwatch.store.database import open_database, reading
from holdwatch.store.tables import duty as duties

NIGHT, DAY = View("night", 390), View("light", 390)
NURSERY = "Set up the nursery"

# As in the story: the worker gets the event that a tap on a button gives, with the notification that is really shown.
TAP_ON = """
async (action) => {
  const [notification] = await registration.getNotifications();
  dispatchEvent(new NotificationEvent('notificationclick', { notification, action }));
}
"""


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    """A server of its own: what is done with a duty stays done."""
    with running(tmp_path, DAYTIME, "--example") as house:
        yield house


def push_about_the_nursery(house: House) -> str:
    """The message about that duty as a phone has it once it is decrypted."""
    engine = open_database(f"sqlite:///{house.folder / 'holdwatch.sqlite3'}")
    with reading(engine) as db:
        kept = db.execute(sa.select(duties).where(duties.c.kind == "window_opens")).one()
    engine.dispose()
    path = f"/brood/{kept.brood_id}?duty={kept.key}"
    return payload(Message("Set it up", "Today.", path, kept.key, kept.brood_id, False, house.now()), house.origin)


@contextmanager
def phone_in_hand(browser: Browser, house: House, login: str) -> Iterator[Page]:
    """Somebody's phone on Tonight."""
    context = browser.new_context(viewport={"width": 390, "height": 844}, locale="en-GB", color_scheme="light")
    context.set_default_timeout(15_000)
    context.clock.install(time=house.now())
    page = context.new_page()
    try:
        sign_in(page, house.origin, login, ours.PASSWORD)
        expect(page.get_by_role("heading", name="Everybody’s")).to_be_visible()
        yield page
    finally:
        context.close()


def row(page: Page) -> Locator:
    """The nursery's row."""
    return page.locator("li.duty", has_text=NURSERY)


def until_the_server_knows(page: Page, house: House) -> None:
    """Wait until the server itself says that it is done."""
    engine = open_database(f"sqlite:///{house.folder / 'holdwatch.sqlite3'}")
    for _ in range(200):
        with reading(engine) as db:
            done_at = db.scalar(sa.select(duties.c.done_at).where(duties.c.kind == "window_opens"))
        if done_at is not None:
            break
        page.wait_for_timeout(50)
    engine.dispose()
    assert done_at is not None


def come_online(context: BrowserContext, page: Page) -> None:
    """The connection is there again, and the browser says so."""
    context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")


def test_done_on_a_notification_without_a_connection_is_done_everywhere_once_there_is_one(
    playwright: Playwright, chromium: str, browser: Browser, house: House
):
    with (
        PushEndpoint(at=house.now) as service,
        phone_of(playwright, chromium, house, service.phone("mira")) as context,
        phone_in_hand(browser, house, "jonas") as other,
    ):
        page = context.pages[0]
        sign_in(page, house.origin, "mira", ours.PASSWORD)
        ask_for_reminders(page, house)
        page.goto(f"{house.origin}/")
        expect(row(page)).to_be_visible()
        deliver(context, page, house.origin, push_about_the_nursery(house))
        until(page, "async () => (await (await navigator.serviceWorker.ready).getNotifications()).length > 0")
        context.set_offline(True)
        worker = context.service_workers[0]
        offered = "async () => (await registration.getNotifications())[0].actions.map((one) => one.title)"
        assert worker.evaluate(offered) == ["Done", "Later"]
        worker.evaluate(TAP_ON, "done")
        # Without a connection, and without anything tapped on the page.
        expect(row(page)).to_contain_text("You did it")
        assert worker.evaluate("async () => (await registration.getNotifications()).length") == 0
        expect(row(other)).not_to_contain_text("Done by")
        come_online(context, page)
        until_the_server_knows(page, house)
        other.evaluate("dispatchEvent(new Event('focus'))")
        expect(row(other)).to_contain_text("Done by Mira")
        # The stand-in for the browser's subscription lasts as long as a page.
        ask_for_reminders(page, house)
        # The test moves the clocks of pages alone: the worker's shows the machine's own hour.
        expect(page.get_by_text(re.compile(r"The last one came \w+, \d\d:\d\d\."))).to_be_visible()


def test_two_phones_that_claim_at_once_without_a_connection_agree_and_both_are_told(browser: Browser, house: House):
    with phone_in_hand(browser, house, "mira") as first, phone_in_hand(browser, house, "jonas") as second:
        for page in (first, second):
            page.context.set_offline(True)
            page.get_by_role("button", name=f"I’ll do it: {NURSERY}").click()
            expect(row(page)).to_contain_text("Yours")
        for page in (first, second, first):
            come_online(page.context, page)
            page.wait_for_timeout(500)
        expect(row(first)).to_contain_text("Yours: you took it before Jonas")
        expect(row(second)).to_contain_text("Mira took it first and does it")
        expect(second.get_by_role("heading", name="Taken by others")).to_be_visible()


@pytest.mark.parametrize("view", [NIGHT, DAY], ids=lambda view: view.skin)
def test_a_duty_is_put_off_or_left_out_and_that_is_taken_back(browser: Browser, house: House, view: View):
    with visiting(browser, house, view) as page:
        if view.is_night:
            tap(page.get_by_role("button", name="Show what is to do"))
            tap(page.get_by_role("button", name=f"Later, in half an hour: {NURSERY}"))
        else:
            tap(page.get_by_role("button", name=f"Later: {NURSERY}"))
            tap(page.get_by_role("button", name="half an hour", exact=True))
        expect(row(page)).to_contain_text(re.compile("You put it off until 19:0"))
        tap(page.get_by_role("button", name="Undo"))
        expect(row(page)).not_to_contain_text("put it off")
        tap(page.get_by_role("button", name=f"Skip: {NURSERY}"))
        typed = page.get_by_label("Another reason")
        # The system's keyboard cannot be red: by night only what is one tap.
        expect(typed).to_be_hidden() if view.is_night else expect(typed).to_be_visible()
        sound(page, view)
        tap(page.get_by_role("button", name="Not needed any more"))
        expect(row(page)).to_contain_text("Left out by you: Not needed any more")
        expect(page.get_by_role("heading", name="Done", exact=True)).to_be_visible()
        assert list(findings(page)) == []
        tap(page.get_by_role("button", name="Undo"))
        expect(page.get_by_role("button", name=f"I’ll do it: {NURSERY}")).to_be_visible()
