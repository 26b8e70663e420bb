"""Young are raised: a batch is opened from a catch offline, fed by one tap, and seen by the other phone."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Playwright, expect

from browser.house import DAYTIME, House, running
from browser.test_offline import come_in, phone
from browser.test_twice import hear, open_brood
from browser.walk import View, saved, sound, tap, visiting

NIGHT, DAY = View("night", 390), View("light", 390)
VIEWS = [NIGHT, DAY, View("dark", 1440), View("night", 360), View("night", 320), View("night", 390, dim=2)]
PATIENCE_MS = 30_000


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    """The example household for this test alone, which writes in it."""
    (tmp_path / "house").mkdir()
    with running(tmp_path / "house", DAYTIME, "--example") as house:
        yield house


def catch(page: Page, house: House) -> None:
    """Say on his brood's page that Quill was caught, with ten free young."""
    open_brood(page, house)
    tap(page.get_by_role("button", name="He was caught"))
    for _ in range(2):
        tap(page.get_by_role("button", name="5 more: Free young"))
    tap(page.get_by_role("button", name="Save: He was caught"))
    saved(page)


def open_batch(page: Page) -> str:
    """Open the batch that is offered on the page of the brood; its address."""
    tap(page.get_by_role("link", name="Open a nursery batch"))
    page.get_by_label("Name of the batch").fill("Cube A")
    page.get_by_label("One meal").fill("one level blue spoon")
    page.get_by_label("Water is changed with").fill("white jug")
    page.get_by_label("One of it holds").fill("1.5")
    page.get_by_label("Volume").fill("20")
    tap(page.get_by_role("button", name="Save"))
    expect(page.get_by_role("heading", name="Cube A", level=1)).to_be_visible()
    return page.url


def test_a_batch_opened_and_fed_without_a_connection_reaches_the_other_phone(
    playwright: Playwright, chromium: str, browser: Browser, house: House, tmp_path: Path
):
    with (
        visiting(browser, house, DAY, login="jonas") as other,
        phone(playwright, chromium, house, tmp_path / "phone") as context,
    ):
        page = come_in(context, house)
        context.set_offline(True)
        catch(page, house)
        address = open_batch(page)
        expect(page.locator("main").get_by_text("alive, counted")).to_be_visible()
        tap(page.get_by_role("button", name="Fed, bellies half full"))
        saved(page)
        page.get_by_role("button", name="Undo").click()
        expect(page.get_by_text("Nothing yet.")).to_be_visible()
        tap(page.get_by_role("button", name="Fed, bellies full"))
        expect(page.locator("#log")).to_contain_text("Fed, bellies full")
        context.set_offline(False)
        page.evaluate("dispatchEvent(new Event('online'))")
        tap(other.get_by_role("link", name="Nursery"))
        hear(other, other.get_by_role("link", name="Cube A"), 1)
        tap(other.get_by_role("link", name="Cube A"))
        expect(other.get_by_role("heading", name="Cube A", level=1)).to_be_visible()
        assert other.url == address
        hear(other, other.locator("#log li").filter(has_text="Fed, bellies full").filter(has_text="Mira"), 1)


def test_a_meal_is_asked_for_and_done_by_one_tap_on_both_phones(browser: Browser, house: House):
    with visiting(browser, house, DAY) as page, visiting(browser, house, DAY, login="jonas") as other:
        catch(page, house)
        address = open_batch(page)
        meal = page.get_by_role("listitem").filter(has_text="Feed the young")
        expect(meal.first).to_contain_text("one level blue spoon", timeout=PATIENCE_MS)
        page.goto(house.origin)
        on_tonight = page.get_by_role("listitem").filter(has_text="Feed the young").filter(has_text="in Cube A")
        expect(on_tonight.first).to_be_attached(timeout=PATIENCE_MS)
        page.goto(address)
        tap(page.get_by_role("button", name="Fed, bellies full"))
        expect(meal.filter(has_text="Done")).to_have_count(1)
        other.goto(address)
        hear(other, other.get_by_role("listitem").filter(has_text="Feed the young").filter(has_text="Done"), 1)


def test_water_is_tested_changed_and_the_entry_corrected_in_the_house_s_own_measure(browser: Browser, house: House):
    with visiting(browser, house, DAY) as page:
        catch(page, house)
        open_batch(page)
        tap(page.get_by_role("button", name="Water test", exact=True))
        page.get_by_label("Total ammonia, mg/L").fill("1")
        page.get_by_label("pH").fill("8.2")
        tap(page.get_by_role("button", name="as NH₄ and NO₂"))
        tap(page.get_by_role("button", name="Save: Water test"))
        expect(page.locator("#log")).to_contain_text("ammonia 0.777 mg/L N, pH 8.2")
        # The server's word on what of it is free comes by itself.
        expect(page.get_by_text("Alarm: above 0.025")).to_be_visible(timeout=PATIENCE_MS)
        tap(page.get_by_role("button", name="Water change", exact=True))
        for _ in range(2):
            tap(page.get_by_role("button", name="1 more", exact=True))
        tap(page.get_by_role("button", name="Save: Water change"))
        expect(page.locator("#log")).to_contain_text("3 L of water changed (2 × white jug)")
        tap(page.get_by_role("button", name="Correct: 3 L of water changed").first)
        tap(page.get_by_role("button", name="0.5 less"))
        tap(page.get_by_role("button", name="Save the correction"))
        expect(page.locator("#log")).to_contain_text("2.3 L of water changed (1.5 × white jug)")
        page.get_by_role("button", name="Undo").click()
        expect(page.locator("#log")).to_contain_text("3 L of water changed (2 × white jug)")


def test_a_tin_is_counted_and_a_hatch_of_it_set_going(browser: Browser, house: House):
    with visiting(browser, house, DAY) as page:
        page.goto(f"{house.origin}/nursery")
        tap(page.get_by_role("button", name="Add a food"))
        page.get_by_label("Name").fill("Green tin")
        page.get_by_label("Hours until nine in ten have hatched").fill("24")
        page.get_by_label("It is taken out with").fill("level blue spoon")
        page.get_by_label("One of it weighs").fill("0.6")
        tap(page.get_by_text("Count what this tin gives"))
        for label, number in (("Nauplii", "60"), ("Umbrella stages", "3"), ("Cysts not hatched", "12")):
            page.get_by_label(label).last.fill(number)
        expect(page.get_by_text("80 % hatched, 120,000 nauplii a gram")).to_be_visible()
        tap(page.get_by_role("button", name="Use this number"))
        tap(page.get_by_role("button", name="Save", exact=True))
        saved(page)
        expect(page.locator("#foods")).to_contain_text("120,000 nauplii a gram · hatched in 24 h")
        tap(page.get_by_role("button", name="Set a hatch going: Green tin"))
        for _ in range(3):
            tap(page.get_by_role("button", name="0.5 more", exact=True))
        tap(page.get_by_role("button", name="Save: Set a hatch going"))
        expect(page.get_by_text("Green tin set going: 0.9 g")).to_be_visible()
        expect(page.get_by_text("Most hatched about tomorrow, 18:3").first).to_be_visible()


def asked_by_day(page: Page, view: View, label: str) -> None:
    """A field is there to be typed in, and at night the line that says when it is."""
    if view.skin == "night":
        expect(page.get_by_text("By day light").locator("visible=true")).to_be_visible()
        expect(page.get_by_label(label)).to_be_hidden()
    else:
        expect(page.get_by_label(label)).to_be_visible()


@pytest.mark.parametrize("view", VIEWS, ids=str)
def test_its_pages_are_sound(browser: Browser, house: House, view: View):
    with visiting(browser, house, view) as page:
        # By day, for at night nothing is typed.
        with visiting(browser, house, DAY, login="jonas") as day:
            catch(day, house)
            tap(day.get_by_role("link", name="Open a nursery batch"))
            expect(day.get_by_label("Name of the batch")).to_be_visible()
            opening = day.url
            day.go_back()
            batch = open_batch(day)
            expect(day.get_by_role("heading", name="To do")).to_be_visible(timeout=PATIENCE_MS)
        page.goto(f"{house.origin}/nursery")
        hear(page, page.get_by_role("link", name="Cube A"), 1)
        expect(page.get_by_role("heading", name="Foods of the house")).to_be_visible()
        tap(page.get_by_role("button", name="Add a food"))
        asked_by_day(page, view, "It is taken out with")
        sound(page, view)
        page.goto(opening)
        asked_by_day(page, view, "Name of the batch")
        sound(page, view)
        page.goto(batch)
        expect(page.get_by_role("heading", name="To do")).to_be_visible(timeout=PATIENCE_MS)
        tap(page.get_by_role("button", name="Fed, bellies empty"))
        for form in ("Water test", "Count", "Water change", "Set a hatch going"):
            tap(page.get_by_role("button", name=form, exact=True))
            sound(page, view)
        tap(page.get_by_role("button", name="Correct: Fed"))
        page.evaluate("document.querySelectorAll('details').forEach((one) => (one.open = true))")
        tap(page.get_by_role("button", name="All were lost"))
        sound(page, view)
