"""Every page in both skins: axe finds nothing, nothing is wider than the glass, and the night skin is all red."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO

import pytest
from PIL import Image
from playwright.sync_api import Browser, Page

from browser.house import ROOT, ZONE, House, sign_in, until
from holdwatch.example import household as ours

AXE = (ROOT / "webclient" / "node_modules" / "axe-core" / "axe.min.js").read_text()
SIGNED_IN = ("/", "/look", "/broods", "BROOD", "/household", "/attention", "/start/tank", "/start/male", "/nowhere")
SIGNED_OUT = ("/sign-in", "/setup#code", "/join#none")
VIEWS = {
    "night": {"viewport": {"width": 390, "height": 844}, "color_scheme": "dark"},
    "day": {"viewport": {"width": 390, "height": 844}, "color_scheme": "light"},
    "dark day": {"viewport": {"width": 1440, "height": 900}, "color_scheme": "dark"},
    "desk": {"viewport": {"width": 1440, "height": 900}, "color_scheme": "light"},
}
# The bare minimum of a target, in CSS pixels (interface: 48 by day, 72 by night).
LEAST = {"night": 72, "day": 48, "dark day": 48, "desk": 48}


@contextmanager
def visit(browser: Browser, view: str, **more: object) -> Iterator[Page]:
    """A page in that view; its policy is lifted so that axe can be put into it."""
    options = {**VIEWS[view], "timezone_id": ZONE, "locale": "en-GB", "bypass_csp": True, **more}
    context = browser.new_context(**options)
    context.set_default_timeout(15_000)
    yield context.new_page()
    context.close()


def show(page: Page, house: House, path: str, view: str) -> None:
    """Open the page, and wait until it stands."""
    if path == "BROOD":
        page.goto(f"{house.origin}/broods")
        page.locator('a[href^="/brood/"]').first.click()
    else:
        page.goto(house.origin + path)
    page.locator("h1").first.wait_for()
    turn = page.get_by_role("button", name="Red light", exact=True)
    if view == "night" and turn.count():
        turn.click()
    until(page, "document.fonts.status === 'loaded'")


def findings(page: Page) -> list[str]:
    """What axe finds, one line each."""
    page.evaluate(AXE)
    found = page.evaluate("async () => (await axe.run()).violations")
    return [f"{one['id']}: {node['html'][:160]}" for one in found for node in one["nodes"]]


def test_axe_finds_nothing_on_any_page_in_any_skin(browser: Browser, example: House):
    found = {}
    for view in VIEWS:
        with visit(browser, view) as page:
            for path in SIGNED_OUT:
                show(page, example, path, view)
                found[view, path] = findings(page)
            sign_in(page, example.origin, "mira", ours.PASSWORD)
            for path in SIGNED_IN:
                show(page, example, path, view)
                found[view, path] = findings(page)
    assert {where: what for where, what in found.items() if what} == {}
    assert len(found) == len(VIEWS) * (len(SIGNED_OUT) + len(SIGNED_IN))


@pytest.mark.parametrize("width", [320, 390])
def test_nothing_is_wider_than_the_glass(browser: Browser, example: House, width: int):
    wide = {}
    with visit(browser, "day", viewport={"width": width, "height": 800}) as page:
        sign_in(page, example.origin, "mira", ours.PASSWORD)
        for path in SIGNED_IN:
            show(page, example, path, "day")
            wide[path] = page.evaluate("document.documentElement.scrollWidth")
    assert {path: found for path, found in wide.items() if found > width} == {}


@pytest.mark.parametrize("view", ["day", "night"])
def test_buttons_are_as_high_as_a_wet_finger_needs(browser: Browser, example: House, view: str):
    small = {}
    with visit(browser, view) as page:
        sign_in(page, example.origin, "mira", ours.PASSWORD)
        for path in ("/", "/look", "/household"):
            show(page, example, path, view)
            seen = [one for one in page.get_by_role("button").all() if one.is_visible()]
            heights = [(one.inner_text(), one.bounding_box()["height"]) for one in seen]
            small[path] = [(text, height) for text, height in heights if height < LEAST[view] - 0.5]
    assert {path: found for path, found in small.items() if found} == {}


def test_the_night_skin_paints_red_and_nothing_else(browser: Browser, example: House):
    strays = {}
    with visit(browser, "night") as page:
        sign_in(page, example.origin, "mira", ours.PASSWORD)
        for path in SIGNED_IN:
            show(page, example, path, "night")
            image = Image.open(BytesIO(page.screenshot())).convert("RGB")
            colours = image.getcolors(maxcolors=1 << 24)
            # Text goes up to #ff3b30: never more green or blue than a quarter of its red.
            strays[path] = [rgb for _, rgb in colours if max(rgb[1], rgb[2]) > rgb[0] * 0.25 + 2]
    assert {path: found[:5] for path, found in strays.items() if found} == {}
