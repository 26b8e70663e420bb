"""A part of the client that does not come: said in plain words where it is missed, and tried again by one tap."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from browser.hatching import CLOWN, watch
from browser.house import DAYTIME, House, running
from browser.walk import View, findings, tap, visiting

DAY = View("light", 390)
# No worker keeps the parts here: then each is fetched when it is asked for, as on plain http.
UNKEPT = "delete Navigator.prototype.serviceWorker"


@pytest.fixture(scope="module")
def house(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """The example household with a nest guarder, so that Tonight has two males and words of two ways."""
    with running(tmp_path_factory.mktemp("missing"), DAYTIME, "--example") as house:
        with visiting(browser, house, DAY) as page:
            watch(page, house, CLOWN)
        yield house


@pytest.fixture
def page(browser: Browser, house: House) -> Iterator[Page]:
    with visiting(browser, house, DAY, script=UNKEPT) as page:
        yield page


def missing(page: Page) -> Locator:
    return page.get_by_role("alert").filter(has_text="This part is not on this device")


def lose(page: Page, part: str) -> None:
    """From now on that part cannot be fetched."""
    page.route(f"**/assets/{part}-*.js", lambda route: route.abort())


def find(page: Page, part: str) -> None:
    page.unroute(f"**/assets/{part}-*.js")


def try_again(page: Page) -> None:
    tap(missing(page).get_by_role("button", name="Try again"))


def test_tonight_stands_without_a_part_of_it_and_brings_it_when_told_to(page: Page, house: House):
    lose(page, "OneTimetable")
    page.goto(house.origin)
    expect(missing(page)).to_be_visible()
    expect(page.get_by_role("article")).to_have_count(2)
    assert list(findings(page)) == []
    find(page, "OneTimetable")
    try_again(page)
    expect(missing(page)).to_have_count(0)


def test_without_the_words_for_a_male_tonight_says_so_instead_of_nothing(page: Page, house: House):
    lose(page, "hatching")
    page.goto(house.origin)
    expect(missing(page)).to_be_visible()
    find(page, "hatching")
    try_again(page)
    expect(page.get_by_role("article", name=CLOWN.name)).to_be_visible()
    expect(missing(page)).to_have_count(0)


def test_a_page_that_does_not_come_is_named_as_missing_and_comes_with_the_connection(page: Page):
    lose(page, "Broods")
    page.context.set_offline(True)
    tap(page.get_by_role("link", name="Broods"))
    expect(missing(page)).to_be_visible()
    expect(page.get_by_role("article")).to_have_count(0)
    try_again(page)
    expect(missing(page)).to_be_visible()
    tap(page.get_by_role("link", name="Tonight"))
    expect(page.get_by_role("article")).to_have_count(2)
    expect(missing(page)).to_have_count(0)
    page.context.set_offline(False)
    find(page, "Broods")
    tap(page.get_by_role("link", name="Broods"))
    expect(page.get_by_role("heading", name="Under way")).to_be_visible()


def test_a_section_of_a_brood_says_so_in_its_own_place(page: Page, house: House):
    lose(page, "Away")
    page.goto(f"{house.origin}/broods")
    tap(page.locator('main li:not(.over) a[href^="/brood/"]').filter(has_text="Quill"))
    summary = page.locator("summary", has_text="Away on some of these nights?")
    tap(summary)
    section = page.locator("details", has=summary).last
    expect(section).to_contain_text("What was logged is kept.")
    find(page, "Away")
    try_again(page)
    expect(section).to_contain_text("First night away")


def test_what_a_newer_client_has_replaced_comes_with_the_page_anew(page: Page):
    page.route("**/assets/Broods-*.js", lambda route: route.fulfill(status=404, body="gone"))
    tap(page.get_by_role("link", name="Broods"))
    expect(missing(page)).to_be_visible()
    with page.expect_navigation(wait_until="load"):
        try_again(page)
