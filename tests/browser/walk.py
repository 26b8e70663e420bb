"""A walk through the pages in one view, and what is found on each: axe's findings, widths, targets, colours."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO

from PIL import Image
from playwright.sync_api import Browser, Locator, Page, expect

from browser.house import ROOT, ZONE, House, sign_in
from holdwatch.example import household as ours

AXE = (ROOT / "webclient" / "node_modules" / "axe-core" / "axe.min.js").read_text()

# What sticks out of the glass or of its own panel, and what is too small to hit; a link within running text may be as
# high as its line.
MEASURE = """
(least) => {
  const isSeen = (one) => one.checkVisibility({ visibilityProperty: true }) && !one.closest('svg, .unseen, .skip');
  const said = (one) => (one.getAttribute('aria-label') ?? one.textContent).trim().slice(0, 40);
  const name = (one) => `${one.tagName.toLowerCase()}: ${said(one)}`;
  const edge = (one) => one.parentElement.closest('.panel')?.getBoundingClientRect().right ?? innerWidth;
  const sticksOut = (one) => one.getBoundingClientRect().right > Math.min(innerWidth, edge(one)) + 1;
  const isTarget = (one) => one.matches('button, a, input, select, summary') && !one.matches('p > a:not(.button)');
  const isSmall = (one) => {
    const { width, height } = one.getBoundingClientRect();
    return Math.min(width, height) < least - 0.5;
  };
  const all = [...document.querySelectorAll('body *')].filter(isSeen);
  const page = document.documentElement.scrollWidth > innerWidth ? ['the page'] : [];
  return { wide: [...page, ...all.filter(sticksOut).map(name)], small: all.filter(isTarget).filter(isSmall).map(name) };
}
"""
INVITE = """
fetch('/api/v1/invitations', {
  method: 'POST',
  headers: { 'content-type': 'application/json' },
  body: JSON.stringify({ name: 'Ditte', role: 'helper' }),
}).then((answer) => answer.json()).then((invitation) => invitation.link_path)
"""


@dataclass(frozen=True)
class View:
    """A skin on a glass; `dim` counts the taps on the dimmer."""

    skin: str
    width: int
    height: int = 844
    dim: int = 0

    @property
    def is_night(self) -> bool:
        """Whether it is red on black."""
        return self.skin == "night"

    @property
    def least_target(self) -> int:
        """How high and wide a target must be, in CSS pixels: more for a wet finger in the dark than at a desk."""
        # Four destinations of 72 px with room between them need more than the narrowest glass has.
        return 72 if self.is_night and 360 <= self.width < 900 else 48


@dataclass(frozen=True)
class Place:
    """A page: its address, what shows that it stands, and what is opened on it before anybody looks."""

    address: str
    stands: Callable[[Page], Locator]
    open: Callable[[Page], None] | None = None


@dataclass(frozen=True)
class Found:
    """What one page showed in one view."""

    axe: tuple[str, ...]
    wide: tuple[str, ...]
    small: tuple[str, ...]
    strays: tuple[tuple[int, int, int], ...]


@contextmanager
def visiting(
    browser: Browser, house: House, view: View, zone: str = ZONE, login: str = "mira", script: str = ""
) -> Iterator[Page]:
    """The owner, or who is named, signed in, in that view; `script` runs before any page.

    An error on a page fails; our policy is lifted, so that axe can be put in.
    """
    scheme = "light" if view.skin == "light" else "dark"
    size = {"width": view.width, "height": view.height}
    context = browser.new_context(viewport=size, color_scheme=scheme, timezone_id=zone, locale="en-GB", bypass_csp=True)
    context.add_init_script(script)
    context.set_default_timeout(15_000)
    context.clock.install(time=house.now())
    page, errors = context.new_page(), []
    page.on("pageerror", lambda error: errors.append(str(error)))
    try:
        sign_in(page, house.origin, login, ours.PASSWORD)
        _dress(page, view)
        yield page
        assert not errors, errors
    finally:
        context.close()


def _dress(page: Page, view: View) -> None:
    page.get_by_role("heading", name="Quill").wait_for()
    root = page.locator("html")
    # After lamps-out it is red by itself.
    if view.is_night and root.get_attribute("data-skin") != "night":
        tap(page.get_by_role("button", name="Red light", exact=True))
    for _ in range(view.dim):
        tap(page.get_by_role("button", name="Dimmer"))
    assert root.get_attribute("data-skin") == ("night" if view.is_night else "day")
    assert root.get_attribute("data-dim") == str(view.dim)


# A colour on its way to another is none that anybody chose.
STILL = """async () => {
  const ending = document.getAnimations().filter((one) => Number.isFinite(one.effect.getComputedTiming().endTime));
  await Promise.allSettled(ending.map((one) => one.finished));
}"""


def tap(target: Locator) -> None:
    """One tap; in the night skin a second contact within 250 ms is taken for a wet finger."""
    target.click()
    if target.page.locator("html").get_attribute("data-skin") == "night":
        target.page.wait_for_timeout(300)


def saved(page: Page) -> None:
    """Wait until what was tapped is kept: a page that is left within milliseconds may not have written it."""
    expect(page.get_by_text("Saved on this device").first).to_be_visible()


def places(page: Page, house: House) -> dict[str, Place]:
    """Every page, by name."""

    def button(name: str) -> Callable[[Page], Locator]:
        return lambda page: page.get_by_role("button", name=name, exact=True)

    def text(words: str) -> Callable[[Page], Locator]:
        return lambda page: page.get_by_text(words).first

    page.goto(f"{house.origin}/broods")
    broods = page.locator('main a[href^="/brood/"]')
    broods.first.wait_for()
    under_way = _address(broods.first)
    return {
        "tonight": Place("/", button("Still full")),
        "look": Place("/look", text("Mouth")),
        "look, filled in": Place("/look", text("Mouth"), _fill_in_a_look),
        "broods": Place("/broods", text("Finished")),
        "brood": Place(under_way, text("What happened")),
        "brood, opened": Place(under_way, text("What happened"), _open_a_brood),
        "brood caught": Place(_address(broods.filter(has_text="Caught").first), text("young kept")),
        "brood lost": Place(_address(broods.filter(has_text="Lost").first), text("It is not over")),
        "household": Place("/household", button("Sign out on this device")),
        "household, opened": Place("/household", button("Sign out on this device"), _open_the_household),
        "attention": Place("/attention", text("Nothing needs attention.")),
        "a tank": Place("/start/tank", button("Save the tank")),
        "a male": Place("/start/male", button("Save")),
        "nowhere": Place("/nowhere", text("Nothing here")),
        "sign in": Place("/sign-in", button("Sign in")),
        "setup": Place("/setup#code", button("Set up")),
        "join": Place(page.evaluate(INVITE), button(f"Join {ours.HOUSEHOLD}")),
    }


def survey(page: Page, house: House, view: View, place: Place, with_axe: bool = True) -> Found:
    """Go to the place, and write down what is found."""
    page.goto(house.origin + place.address)
    place.stands(page).wait_for()
    if place.open:
        place.open(page)
    measured = page.evaluate(MEASURE, view.least_target)
    axe = tuple(findings(page)) if with_axe else ()
    strays = tuple(stray_colours(page.screenshot(full_page=True))) if view.is_night else ()
    return Found(axe, tuple(measured["wide"]), tuple(measured["small"]), strays)


def sound(page: Page, view: View) -> None:
    """Axe finds nothing, nothing sticks out or is too small to hit, and by night all is red."""
    page.evaluate(STILL)
    found = list(findings(page))
    assert found == [], found
    assert page.evaluate(MEASURE, view.least_target) == {"wide": [], "small": []}
    assert not view.is_night or stray_colours(page.screenshot(full_page=True)) == []


def findings(page: Page) -> Iterator[str]:
    """What axe finds on the page, one line for each place."""
    page.evaluate(AXE)
    for violation in page.evaluate("async () => (await axe.run({ resultTypes: ['violations'] })).violations"):
        yield from (f"{violation['id']}: {node['html'][:160]}" for node in violation["nodes"])


def stray_colours(screenshot: bytes) -> list[tuple[int, int, int]]:
    """Colours that are no pure red: text goes up to #ff3b30, so never more green or blue than a quarter of the red."""
    colours = Image.open(BytesIO(screenshot)).convert("RGB").getcolors(maxcolors=1 << 24)
    return [rgb for _, rgb in colours if max(rgb[1], rgb[2]) > rgb[0] * 0.25 + 2]


def _address(brood: Locator) -> str:
    return brood.get_attribute("href") or ""


def _fill_in_a_look(page: Page) -> None:
    tap(page.get_by_role("group", name="Mouth").get_by_role("button", name="full"))
    tap(page.get_by_role("button", name="Another time"))
    tap(page.get_by_role("button", name="Add temperature"))


def _open_a_brood(page: Page) -> None:
    tap(page.get_by_role("button", name="He was caught"))
    tap(page.get_by_role("button", name="Correct the look").first)
    tap(page.get_by_role("button", name="Change: When he was looked at"))
    tap(page.get_by_role("button", name="Correct: Took them up"))
    _unfold(page)


def _open_the_household(page: Page) -> None:
    tap(page.get_by_role("button", name="Change Hall tank"))
    tap(page.get_by_role("button", name="Remove Tove"))
    _unfold(page)


def _unfold(page: Page) -> None:
    page.evaluate("document.querySelectorAll('details').forEach((one) => (one.open = true))")
