"""Photos in a real browser: taken in the dark without a connection, kept, sent once, and shown on another phone."""

from __future__ import annotations

import os
import re
import time
from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import BrowserContext, Page, Playwright, expect

from browser.house import CLIENT, DAYTIME, FLAGS, ZONE, House, running, sign_in, until
from browser.walk import stray_colours, tap
from holdwatch.example import household as ours
from pictures import MARK, telling

BUILT = Path(os.environ.get("HOLDWATCH_CLIENT", CLIENT))
# Chromium's own moving picture, green and with a clock in it, in the place of a camera.
# Drawing in software, and writing a picture beside it, takes its time on a busy machine.
PATIENT_MS = 20_000
CAMERA = ["--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream"]


# What the page asked of the camera, and the tracks that it got.
NOTE_CAMERA = """
const { mediaDevices } = navigator;
const ask = mediaDevices.getUserMedia.bind(mediaDevices);
globalThis.camera = { asked: [], tracks: [] };
mediaDevices.getUserMedia = async (wanted) => {
  camera.asked.push(wanted);
  const stream = await ask(wanted);
  camera.tracks.push(...stream.getTracks());
  return stream;
};
"""


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """A server with the example household."""
    with running(tmp_path_factory.mktemp("photos"), DAYTIME, "--example", client=BUILT) as house:
        yield house


@contextmanager
def phone(
    playwright: Playwright, chromium: str, house: House, folder: Path, camera: bool = True, **more: object
) -> Iterator[BrowserContext]:
    """A phone whose storage lies in `folder`, with a camera or without."""
    context = playwright.chromium.launch_persistent_context(
        folder, executable_path=chromium, args=FLAGS + (CAMERA if camera else []), timezone_id=ZONE, locale="en-GB",
        viewport={"width": 390, "height": 844}, **more,
    )  # fmt: skip
    context.set_default_timeout(15_000)
    context.add_init_script(NOTE_CAMERA)
    context.clock.install(time=house.now())
    try:
        yield context
    finally:
        context.close()


def come_in(context: BrowserContext, house: House, login: str = "mira") -> Page:
    """Sign in, and wait until the phone could do without the server."""
    page = context.pages[0]
    sign_in(page, house.origin, login, ours.PASSWORD)
    expect(page.get_by_role("heading", name="Quill")).to_be_visible()
    until(page, "navigator.serviceWorker.controller !== null")
    return page


def to_night(page: Page) -> None:
    tap(page.get_by_role("button", name="Red light", exact=True))
    expect(page.locator("html")).to_have_attribute("data-skin", "night")


def to_photo(page: Page) -> None:
    """By Look, as at the tank."""
    tap(page.get_by_role("link", name="Look", exact=True).first)
    tap(page.locator("main").get_by_role("link", name="Photo", exact=True))
    expect(page.get_by_role("heading", level=1)).to_have_text("Photo of Quill")


def take(page: Page) -> None:
    """One tap, and the phone says that it has kept it."""
    tap(page.get_by_role("button", name="Take the photo"))
    expect(page.get_by_text("Saved on this device").first).to_be_visible(timeout=PATIENT_MS)


def open_brood(page: Page, house: House) -> None:
    page.goto(f"{house.origin}/broods")
    tap(page.locator('main a[href^="/brood/"]').filter(has_text="Quill").first)
    expect(page.get_by_role("heading", name="Photos")).to_be_visible()


def files(house: House) -> list[Path]:
    """What lies in the server's folder of photos."""
    return sorted(path for path in (house.folder / "holdwatch.sqlite3-photos").rglob("*") if path.is_file())


def photos(house: House) -> list[Path]:
    """The server's photos, without their thumbnails."""
    return [path for path in files(house) if re.fullmatch("[0-9a-f]{64}.jpg", path.name)]


def photos_kept(page: Page, house: House, count: int) -> list[Path]:
    """The server's photos as soon as there are that many."""
    end = time.monotonic() + PATIENT_MS / 1000
    while len(photos(house)) < count:
        assert time.monotonic() < end, f"{files(house)}, and never {count} photos"
        page.wait_for_timeout(50)
    return photos(house)


def online(context: BrowserContext, page: Page) -> None:
    context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")


def see_picture(page: Page, scope: str = "main") -> None:
    """Wait until the first picture is there and not only its frame; it is fetched when it comes into sight."""
    page.locator(f"{scope} .place").first.scroll_into_view_if_needed()
    picture = f"document.querySelector('{scope} img')"
    until(page, f"{picture}?.complete === true && {picture}.naturalWidth > 0")


def take_in_the_dark(context: BrowserContext, house: House) -> None:
    """Without a connection; nothing on the way is anything but red."""
    page = come_in(context, house)
    context.set_offline(True)
    to_night(page)
    to_photo(page)
    expect(page.get_by_role("img", name="What the camera sees")).to_be_visible()
    page.wait_for_timeout(500)
    assert stray_colours(page.screenshot(full_page=True)) == []
    take(page)
    assert stray_colours(page.screenshot(full_page=True)) == []
    tap(page.get_by_role("button", name="Back"))
    expect(page.get_by_role("heading", level=1)).to_have_text("Look at Quill")
    # No sound was asked for, no lamp, and nothing of the camera runs on.
    assert page.evaluate("camera.asked.map((one) => [one.audio, 'torch' in one.video])") == [[False, False]]
    assert page.evaluate("camera.tracks.map((track) => track.readyState)") == ["ended"]


def send_up(context: BrowserContext, house: House, count: int) -> Path:
    """Open a phone on which a photo waits, and let it have a connection; what the server keeps of it."""
    page, before = context.pages[0], set(photos(house))
    open_brood(page, house)
    expect(page.get_by_role("link", name=re.compile("^Photo, ")).first).to_contain_text("Not gone up yet")
    page.goto(f"{house.origin}/household")
    expect(page.get_by_text("1 photo waits to go up: 0 kB of")).to_be_visible()
    online(context, page)
    photos_kept(page, house, count)
    expect(page.get_by_text("photo waits to go up")).to_have_count(0)
    page.reload()
    page.wait_for_timeout(1000)
    (kept,) = set(photos(house)) - before
    return kept


def test_a_photo_of_the_dark_arrives_once_and_is_shown_on_another_phone(
    playwright: Playwright, chromium: str, house: House, tmp_path: Path
):
    before = photos(house)
    with phone(playwright, chromium, house, tmp_path / "one") as context:
        take_in_the_dark(context, house)
    assert photos(house) == before
    with phone(playwright, chromium, house, tmp_path / "one", offline=True) as context:
        kept = send_up(context, house, len(before) + 1)
    # What is kept is in its own colours, however red it was shown: the test's camera is green.
    red, green, blue = Image.open(BytesIO(kept.read_bytes())).convert("RGB").getpixel((4, 4))
    assert green > red + 40 and green > blue + 40
    with phone(playwright, chromium, house, tmp_path / "other") as context:
        page = come_in(context, house, "tove")
        open_brood(page, house)
        see_picture(page, "#photos")
        tap(page.get_by_role("link", name=re.compile("^Photo, ")).first)
        expect(page.get_by_role("heading", level=1)).to_have_text("Photo of Quill")
        see_picture(page)
        to_night(page)
        page.wait_for_timeout(300)
        assert stray_colours(page.screenshot(full_page=True)) == []
        context.set_offline(True)
        page.reload()
        see_picture(page)
        open_brood(page, house)
        assert stray_colours(page.screenshot(full_page=True)) == []


def test_without_a_camera_the_photo_is_promised_and_taken_from_a_file_by_day(
    playwright: Playwright, chromium: str, house: House, tmp_path: Path
):
    before = len(photos(house))
    with phone(playwright, chromium, house, tmp_path / "one", camera=False) as context:
        page = come_in(context, house)
        to_night(page)
        to_photo(page)
        start = page.get_by_role("button", name="Start the camera")
        if start.is_visible():
            tap(start)
        expect(page.locator("main .notice")).to_contain_text("camera")
        expect(page.get_by_text("Choose a picture")).to_be_hidden()
        tap(page.get_by_role("button", name="Photo later"))
        expect(page.get_by_text("Quill: photo later").first).to_be_visible()
        expect(page.get_by_text("A photo is to be taken")).to_be_hidden()
        tap(page.get_by_role("button", name="Day light", exact=True))
        expect(page.get_by_text("A photo is to be taken")).to_be_visible()
        page.get_by_role("link", name="Take it now").click()
        page.get_by_label("Choose a picture").set_input_files(
            {"name": "notes.txt", "mimeType": "image/jpeg", "buffer": b"no picture"}
        )
        expect(page.get_by_role("alert")).to_contain_text("This file cannot be read as a picture")
        page.get_by_label("Choose a picture").set_input_files(
            {"name": "sideways.jpg", "mimeType": "image/jpeg", "buffer": telling("JPEG", 6)}
        )
        expect(page.get_by_text("Saved on this device").first).to_be_visible()
        kept = photos_kept(page, house, before + 1)
        whole = [path.read_bytes() for path in kept]
        assert (480, 640) in {Image.open(BytesIO(data)).size for data in whole}
        assert not any(MARK in data for data in whole)
        page.goto(house.origin)
        expect(page.get_by_role("heading", name="Quill")).to_be_visible()
        expect(page.get_by_text("A photo is to be taken")).to_have_count(0)


def test_a_photo_that_is_refused_needs_attention_and_one_taken_away_is_gone_for_all(
    playwright: Playwright, chromium: str, house: House, tmp_path: Path
):
    before = len(photos(house))
    refusal = '{"error": {"code": "photo_refused", "message": "This picture is cut short.", "where": null}}'
    with phone(playwright, chromium, house, tmp_path / "one") as context:
        page = come_in(context, house)
        page.route(
            "**/api/v1/photos/*/upload",
            lambda route: (
                route.fallback()
                if route.request.method == "GET"
                else route.fulfill(status=422, content_type="application/json", body=refusal)
            ),
        )
        open_brood(page, house)
        page.get_by_role("link", name="Add a photo").click()
        take(page)
        expect(page.get_by_role("link", name=re.compile("Household.*1"))).to_be_visible(timeout=PATIENT_MS)
        page.goto(f"{house.origin}/attention")
        expect(page.get_by_text("This picture is cut short.")).to_be_visible()
        see_picture(page)
        page.unroute_all()
        page.get_by_role("button", name="Send it again").click()
        photos_kept(page, house, before + 1)
        expect(page.get_by_text("Nothing needs attention.")).to_be_visible()
        open_brood(page, house)
        tiles = page.get_by_role("link", name=re.compile("^Photo, "))
        shown = tiles.count()
        tiles.first.click()
        page.get_by_role("button", name="Take it away").click()
        expect(page.get_by_text("Photo taken away")).to_be_visible()
        expect(tiles).to_have_count(shown - 1)
        page.get_by_role("button", name="Undo").click()
        expect(tiles).to_have_count(shown)
