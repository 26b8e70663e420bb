"""What a phone keeps without a connection: through a closed browser, beside a second tab, and on a full disk."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import sqlalchemy as sa
from playwright.sync_api import BrowserContext, Page, Playwright, expect

from browser.house import DAYTIME, FLAGS, ZONE, House, running, sign_in, until
from holdwatch.example import household as ours
from holdwatch.store.database import open_database, reading
from holdwatch.store.tables import record


@contextmanager
def phone(
    playwright: Playwright, chromium: str, house: House, folder: Path, **more: object
) -> Iterator[BrowserContext]:
    """A phone whose storage lies in `folder`; its clock is the house's."""
    context = playwright.chromium.launch_persistent_context(
        folder, executable_path=chromium, args=FLAGS, viewport={"width": 390, "height": 844}, timezone_id=ZONE,
        locale="en-GB", **more,
    )  # fmt: skip
    context.set_default_timeout(15_000)
    context.clock.install(time=house.now())
    try:
        yield context
    finally:
        context.close()


def come_in(context: BrowserContext, house: House) -> Page:
    """Sign in, and wait until the phone could do without the server."""
    page = context.pages[0]
    sign_in(page, house.origin, "mira", ours.PASSWORD)
    expect(page.get_by_role("heading", name="Quill")).to_be_visible()
    until(page, "navigator.serviceWorker.controller !== null")
    return page


def rest_worker(context: BrowserContext, page: Page) -> None:
    """Put the worker in charge to rest, as a phone does with one that has nothing to do.

    A newer one takes over when the older has no work; with a debugger at hand Chromium now and then believes that it
    still has some, although every event of it is answered, and never ends it.
    """
    session = context.new_cdp_session(page)
    versions: dict[str, str] = {}
    session.on("ServiceWorker.workerVersionUpdated", lambda event: versions.update(_statuses(event)))
    session.send("ServiceWorker.enable")
    while "activated" not in versions.values():
        page.wait_for_timeout(50)
    for version in [one for one, status in versions.items() if status == "activated"]:
        session.send("ServiceWorker.stopWorker", {"versionId": version})


def _statuses(event: dict) -> dict[str, str]:
    return {version["versionId"]: version["status"] for version in event["versions"]}


def looks(house: House) -> list[str]:
    """The ids of the looks that the server has."""
    engine = open_database(f"sqlite:///{house.folder / 'holdwatch.sqlite3'}")
    with reading(engine) as db:
        found = list(db.scalars(sa.select(record.c.id).where(record.c.kind == "look")))
    engine.dispose()
    return found


def say_still_full(page: Page) -> None:
    """One tap, and the phone says that it has kept it."""
    page.get_by_role("button", name="Still full").first.click()
    expect(page.get_by_text("Saved on this device").first).to_be_visible()


def wait_for_looks(page: Page, house: House, count: int) -> list[str]:
    """The server's looks as soon as there are that many."""
    for _ in range(200):
        if len(looks(house)) >= count:
            break
        page.wait_for_timeout(50)
    return looks(house)


def test_a_look_kept_through_a_closed_browser_arrives_once(
    playwright: Playwright, chromium: str, example: House, tmp_path: Path
):
    before = len(looks(example))
    with phone(playwright, chromium, example, tmp_path) as context:
        page = come_in(context, example)
        context.set_offline(True)
        page.goto(f"{example.origin}/")
        say_still_full(page)
    assert len(looks(example)) == before
    with phone(playwright, chromium, example, tmp_path, offline=True) as context:
        page = context.pages[0]
        page.goto(f"{example.origin}/household")
        expect(page.locator("main").get_by_text("1 entry waits to go up").first).to_be_visible()
        context.set_offline(False)
        page.evaluate("dispatchEvent(new Event('online'))")
        expect(page.locator("main").get_by_text("Nothing is waiting to go up").first).to_be_visible()
        page.reload()
        expect(page.locator("main").get_by_text("Nothing is waiting to go up").first).to_be_visible()
    assert len(looks(example)) == before + 1


def test_two_tabs_write_at_once_and_both_show_both(
    playwright: Playwright, chromium: str, example: House, tmp_path: Path
):
    before = len(looks(example))
    with phone(playwright, chromium, example, tmp_path) as context:
        one = come_in(context, example)
        other = context.new_page()
        other.goto(f"{example.origin}/")
        expect(other.get_by_role("button", name="Still full").first).to_be_visible()
        tap = "[...document.querySelectorAll('button')].find((one) => one.textContent.trim() === 'Still full').click()"
        # Both clicks are sent before either answer is waited for.
        one.evaluate(f"setTimeout(() => {tap}, 300); null")
        other.evaluate(f"setTimeout(() => {tap}, 300); null")
        found = wait_for_looks(other, example, before + 2)
        assert len(found) == len(set(found)) == before + 2
        for page in (one, other):
            expect(page.get_by_text(re.compile("^Last look .*: full$")).first).to_be_visible()


def test_a_full_disk_is_said_in_words_and_leaves_nothing_half_written(
    playwright: Playwright, chromium: str, example: House, tmp_path: Path
):
    with phone(playwright, chromium, example, tmp_path) as context:
        come_in(context, example)
    # A browser just started has not yet learned how much room there is.
    with phone(playwright, chromium, example, tmp_path, offline=True) as context:
        page = context.pages[0]
        session = context.new_cdp_session(page)
        session.send("Storage.overrideQuotaForOrigin", {"origin": example.origin, "quotaSize": 1})
        page.goto(f"{example.origin}/")
        page.get_by_role("button", name="Still full").first.click()
        expect(page.get_by_text("This device has no room left").first).to_be_visible()
        page.goto(f"{example.origin}/household")
        expect(page.locator("main").get_by_text("Nothing is waiting to go up").first).to_be_visible()


def test_a_newer_client_waits_for_the_persons_yes(playwright: Playwright, chromium: str, tmp_path: Path):
    with (
        running(tmp_path, DAYTIME, "--example") as house,
        phone(playwright, chromium, house, tmp_path / "phone") as context,
    ):
        page = come_in(context, house)
        page.goto(f"{house.origin}/look")
        page.get_by_role("button", name="Add a note").click()
        page.get_by_role("textbox").fill("half typed")
        with (house.client / "sw.js").open("a") as worker:
            worker.write("\n// newer")
        page.evaluate("navigator.serviceWorker.getRegistration().then((one) => one.update()).then(() => null)")
        note = page.get_by_text("A newer Holdwatch is ready.")
        expect(note).to_be_visible()
        expect(page.get_by_role("textbox")).to_have_value("half typed")
        page.get_by_role("button", name="Later").click()
        expect(note).to_be_hidden()
        expect(page.get_by_role("textbox")).to_have_value("half typed")
        page.goto(f"{house.origin}/")
        with page.expect_navigation():
            page.get_by_role("button", name="Use it now").click()
            rest_worker(context, page)
        expect(page.get_by_role("heading", name="Quill")).to_be_visible()
