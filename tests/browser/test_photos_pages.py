"""The pages of photos are sound in every skin and width."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from browser.house import CLIENT, DAYTIME, House, running
from browser.walk import Found, Place, View, survey, visiting
from pictures import photo

BUILT = Path(os.environ.get("HOLDWATCH_CLIENT", CLIENT))
VIEWS = [View("night", 390), View("light", 390), View("dark", 1440), View("night", 320), View("night", 390, dim=2)]


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """A server with the example household."""
    with running(tmp_path_factory.mktemp("photos"), DAYTIME, "--example", client=BUILT) as house:
        yield house


@pytest.fixture(scope="module")
def taken(browser: Browser, house: House) -> tuple[str, str]:
    """A brood and a photo of it: their addresses; a second photo waits for a server that has no room."""
    with visiting(browser, house, View("light", 390)) as page:
        page.goto(f"{house.origin}/broods")
        brood = page.locator('main a[href^="/brood/"]').filter(has_text="Quill").first.get_attribute("href") or ""
        page.goto(house.origin + brood.replace("brood", "photo"))
        file = {"name": "hall.jpg", "mimeType": "image/jpeg", "buffer": photo(1600, 1200)}
        page.get_by_label("Choose a picture").set_input_files(file)
        expect(page.get_by_text("Saved on this device").first).to_be_visible(timeout=20_000)
        page.goto(house.origin + brood)
        tile = page.locator("#photos li a").first
        expect(tile).to_be_visible()
        page.goto(f"{house.origin}/household")
        expect(page.locator("main").get_by_text("Nothing is waiting to go up").first).to_be_visible()
        expect(page.get_by_text("photo waits to go up")).to_have_count(0, timeout=20_000)
        page.goto(house.origin + brood)
        return brood, tile.get_attribute("href") or ""


def drawn(page: Page) -> None:
    """The picture stands, and not only its frame."""
    page.locator("main .place img").first.scroll_into_view_if_needed()


def test_every_page_of_photos_is_sound_in_every_skin_and_width(browser: Browser, house: House, taken: tuple[str, str]):
    brood, seen = taken
    found: dict[tuple[View, str], Found] = {}
    places = {
        "take": Place(
            brood.replace("brood", "photo"), lambda page: page.get_by_role("button", name="Start the camera")
        ),
        "view": Place(seen, lambda page: page.get_by_role("button", name="Take it away"), drawn),
        "brood": Place(brood, lambda page: page.get_by_role("link", name="Add a photo")),
    }
    for view in VIEWS:
        with visiting(browser, house, view) as page:
            for name, place in places.items():
                found[view, name] = survey(page, house, view, place, with_axe=view.width != 320)
    assert {where: one for where, one in found.items() if any(vars(one).values())} == {}
