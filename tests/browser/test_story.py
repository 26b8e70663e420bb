"""The whole story: three looks in the dark without a connection become the reminder to catch him tonight."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, Playwright, expect

from browser.house import FLAGS, ZONE, House, running, until
from channels.push_endpoint import Phone, PushEndpoint, Received

# 20:30 in Copenhagen; the lamps go out at 21:30.
START = datetime(2026, 11, 6, 19, 30, tzinfo=UTC)

# pushManager.subscribe() asks a push service on the open internet and never answers on a closed network, so this one
# call gives what it would give, with the test's own push service in it. All that follows is real.
SUBSCRIBED = """
(subscription) => {
  let held = null;
  PushManager.prototype.subscribe = async function (options) {
    held = { endpoint: subscription.endpoint, options, toJSON: () => subscription, unsubscribe: async () => true };
    return held;
  };
  PushManager.prototype.getSubscription = async () => held;
}
"""

# Headless Chromium has no lock screen to tap on; the worker gets the event that a tap gives, with the notification
# that is really shown. It is no trusted event, so the browser lets it bring no window to the front.
TAP = """
async () => {
  const [shown] = await registration.getNotifications();
  dispatchEvent(new NotificationEvent('notificationclick', { notification: shown }));
}
"""


@pytest.fixture
def house(tmp_path: Path):
    with running(tmp_path, START) as house:
        yield house


@contextmanager
def phone_of(
    playwright: Playwright, chromium: str, house: House, phone: Phone, offline: bool = False
) -> Iterator[BrowserContext]:
    """A phone's browser, closed at the end; what it keeps outlives it."""
    context = playwright.chromium.launch_persistent_context(
        house.folder / "phone",
        executable_path=chromium,
        args=FLAGS,
        viewport={"width": 390, "height": 844},
        timezone_id=ZONE,
        locale="en-GB",
        color_scheme="light",
        offline=offline,
    )
    context.set_default_timeout(15_000)
    context.grant_permissions(["notifications"], origin=house.origin)
    context.clock.install(time=house.now())
    context.add_init_script(f"({SUBSCRIBED})({json.dumps(phone.subscription())})")
    try:
        yield context
    finally:
        context.close()


def set_up_household(page: Page, house: House) -> None:
    """The first run: a name, a tank with its lamp times, a male that holds."""
    page.goto(house.setup_address())
    page.get_by_label("A name for the household").fill("Gull Steps 2")
    page.get_by_label("Your name").fill("Ida")
    page.get_by_label("Sign-in name").fill("ida")
    page.locator("input[type=password]").fill("dim red lamp and a cup")
    page.get_by_role("button", name="Set up").click()
    page.get_by_label("Name of the tank").fill("Window tank")
    page.get_by_label("Lamps go out").fill("21:30")
    page.get_by_label("Lamps come on").fill("08:30")
    page.get_by_role("button", name="Save the tank").click()
    page.get_by_label("What you call him").fill("Bruno")
    page.get_by_label("Where he is found").fill("left, by the pump")
    for _ in range(17):
        page.get_by_role("group", name="First seen with a full throat").get_by_role("button").first.click()
    for _ in range(2):
        page.get_by_role("group", name="Last surely not holding").get_by_role("button").first.click()
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_role("heading", name="Bruno")).to_be_visible()


def log_look(page: Page, origin: str, **parts: str) -> None:
    """A look in a few taps, from Tonight and back to it."""
    page.goto(f"{origin}/")
    page.get_by_role("link", name="Look", exact=True).click()
    for group, value in parts.items():
        label = {"mouth": "Mouth", "tails": "Tails between his lips"}[group]
        page.get_by_role("group", name=label).get_by_role("button", name=value, exact=True).click()
        page.wait_for_timeout(300)  # a second contact within 250 ms is taken for a wet finger
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("Saved on this device")).to_be_visible()
    page.wait_for_url(f"{origin}/")


def kept_looks(page: Page) -> list[dict]:
    """The looks that the phone keeps, straight from its database."""
    return page.evaluate(
        """async () => {
          const [{ name }] = await indexedDB.databases();
          const answer = (ask) => new Promise((done) => (ask.onsuccess = () => done(ask.result)));
          const db = await answer(indexedDB.open(name));
          const all = await answer(db.transaction('records').objectStore('records').getAll());
          db.close();
          return all.filter((one) => one.kind === 'look');
        }"""
    )


def wait_for_catch(house: House, context: BrowserContext, service: PushEndpoint) -> Received:
    """Let the evenings pass, half an hour after the time of telling, until *catch tonight* has come."""
    for _ in range(6):
        try:
            service.wait_for(len(service.delivered()) + 1, seconds=3)
        except TimeoutError:
            house.pass_time(context, hours=1)
        found = [got for got in service.delivered() if got.message["notification"]["tag"].startswith("catch:")]
        if found:
            return found[0]
    raise AssertionError([got.message for got in service.delivered()])


def deliver(context: BrowserContext, page: Page, origin: str, data: str) -> None:
    """Hand the decrypted message to the service worker, as the browser's own push client does."""
    session = context.new_cdp_session(page)
    registrations: list[str] = []

    def learn(event: dict) -> None:
        registrations.extend(one["registrationId"] for one in event["registrations"] if not one["isDeleted"])

    session.on("ServiceWorker.workerRegistrationUpdated", learn)
    session.send("ServiceWorker.enable")
    while not registrations:
        page.wait_for_timeout(50)
    session.send(
        "ServiceWorker.deliverPushMessage",
        {"origin": origin, "registrationId": registrations[-1], "data": data},
    )


def ask_for_reminders(page: Page, house: House) -> None:
    """Turn reminders on, and wait until the worker has the client in its keeping."""
    page.goto(f"{house.origin}/household")
    page.get_by_role("button", name="Remind me on this device").click()
    expect(page.get_by_text("This device is reminded when something is due.")).to_be_visible()
    until(page, "navigator.serviceWorker.controller !== null")


def log_three_evenings(context: BrowserContext, page: Page, house: House) -> None:
    """Without a connection, from before lamps-out on: the phone turns red by itself; a look is logged each evening."""
    page.goto(f"{house.origin}/")
    expect(page.locator("html")).to_have_attribute("data-skin", "day")
    house.pass_time(context, minutes=90)
    expect(page.locator("html")).to_have_attribute("data-skin", "night")
    log_look(page, house.origin, mouth="full", tails="none")
    for tails in ("perhaps", "seen"):
        house.pass_time(context, hours=24)
        log_look(page, house.origin, mouth="full", tails=tails)


def see_that_all_is_there(page: Page, house: House) -> None:
    """Opened again without a connection: the skin, the last look on the screen, every look in the phone's database."""
    page.goto(f"{house.origin}/")
    expect(page.locator("html")).to_have_attribute("data-skin", "night")
    expect(page.get_by_text("tails seen")).to_be_visible()
    tails = [look["fields"]["tails"]["value"] for look in kept_looks(page) if "tails" in look["fields"]]
    assert sorted(tails) == ["none", "perhaps", "seen"]


def come_online(context: BrowserContext, page: Page) -> None:
    """What was logged goes up, and the server's forecast comes back."""
    context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.get_by_text("Night to catch").first).to_be_visible(timeout=30_000)
    expect(page.get_by_text("Saves about").first).to_be_visible()


def tap_on_what_was_shown(context: BrowserContext, page: Page, title: str) -> None:
    """The notification with this title is shown, and somebody taps on it."""
    until(page, "async () => (await (await navigator.serviceWorker.ready).getNotifications()).length > 0")
    worker = context.service_workers[0]
    shown = worker.evaluate("async () => (await registration.getNotifications()).map((one) => one.title)")
    assert shown == [title]
    worker.evaluate(TAP)


def test_a_look_in_the_dark_becomes_catch_tonight(playwright: Playwright, chromium: str, house: House):
    with PushEndpoint(at=house.now) as service:
        phone = service.phone("ida")
        with phone_of(playwright, chromium, house, phone) as context:
            page = context.pages[0]
            set_up_household(page, house)
            ask_for_reminders(page, house)
            context.set_offline(True)
            log_three_evenings(context, page, house)
        with phone_of(playwright, chromium, house, phone, offline=True) as context:
            page = context.pages[0]
            see_that_all_is_there(page, house)
            come_online(context, page)
            got = wait_for_catch(house, context, service)
            told = got.message["notification"]
            assert "22:30" in told["title"] + told["body"] and not service.faults
            deliver(context, page, house.origin, got.text)
            tap_on_what_was_shown(context, page, told["title"])
            page.wait_for_url(f"{house.origin}/brood/{told['data']['brood']}?duty=**")
            expect(page.get_by_role("heading", name="Bruno", level=1)).to_be_visible()
