"""Hatch night in a browser: a pajama cardinalfish who lets go at hatching, and a clownfish who guards a nest.

Their looks go up as from another phone of the house; the server works out the rest. Bramble's night is tomorrow, Rook's
tonight. A Banggai of the example holds beside them, so that each has to be spoken of in words of its own.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import timedelta

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from browser.hatching import CLOWN, PAJAMA, watch
from browser.house import DAYTIME, House, running
from browser.walk import View, sound, tap, visiting

NIGHT, DAY = View("night", 390), View("light", 390)
EVERYWHERE = [NIGHT, View("dark", 1440)]
NAMES = ["night on a phone", "dark at a desk"]
# The server works out two forecasts meanwhile, which a busy machine takes its time for.
PATIENCE_MS = 60_000
MOVE, COLLECT = PAJAMA.name, CLOWN.name
# At 21:20 the lamps of their tanks are out; at 22:10 larvae can be collected.
IN_THE_DARK, AT_ITS_HOUR = DAYTIME + timedelta(hours=2, minutes=50), DAYTIME + timedelta(hours=3, minutes=40)
# What is never said of a nest: all that is done to a mouth, and a red lamp but to forbid it.
NEVER_OF_A_NEST = re.compile(
    r"his mouth|throat|tails|\bnet him|make him spit|catch|let go|loose young|dim red|red light|(?<!no )red lamp",
    re.IGNORECASE,
)

NEVER_AT_HATCHING = re.compile(
    r"(?<!never )\bnet him|(?<!and )make him spit|catch|first young out|loose young", re.IGNORECASE
)


@pytest.fixture(scope="module")
def house(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """The example household with two males more, each with his forecast."""
    with running(tmp_path_factory.mktemp("hatching"), DAYTIME, "--example") as house:
        with visiting(browser, house, DAY) as page:
            watch(page, house, PAJAMA, CLOWN)
            page.goto(house.origin)
            for name in (MOVE, COLLECT):
                expect(card(page, name).get_by_text("Hatch night", exact=True)).to_be_visible(timeout=PATIENCE_MS)
        yield house


@pytest.fixture
def dark(house: House) -> Iterator[House]:
    """The same house after lamps-out of its night; by day again afterwards."""
    house.set_clock(IN_THE_DARK)
    yield house
    house.set_clock(DAYTIME)


def card(page: Page, name: str) -> Locator:
    return page.get_by_role("article", name=name)


def open_brood(page: Page, house: House, name: str) -> None:
    page.goto(f"{house.origin}/broods")
    tap(page.locator('main li:not(.over) a[href^="/brood/"]').filter(has_text=name))
    page.get_by_role("heading", name=name, level=1).wait_for()


def open_look(page: Page, house: House, name: str) -> None:
    open_brood(page, house, name)
    tap(page.get_by_role("link", name=f"Look at {name}"))
    page.get_by_role("heading", name=f"Look at {name}").wait_for()


def parts_asked(page: Page) -> Locator:
    return page.locator("main .parts [role=group]")


def open_all(page: Page) -> None:
    """Open every section; the server varies each assumption meanwhile."""
    page.evaluate("document.querySelectorAll('details').forEach((one) => (one.open = true))")
    rests_on = re.compile("could make it another night|could each make it another night|does not depend on any single")
    expect(page.get_by_text(rests_on)).to_be_visible(timeout=PATIENCE_MS)
    expect(page.get_by_text("Chances then")).to_be_visible()


def words(of: Locator) -> str:
    """All that can be read there."""
    return " ".join(of.inner_text().split())


@pytest.mark.parametrize("view", EVERYWHERE, ids=NAMES)
def test_tonight_names_the_hatch_night_and_the_act_of_each_way(browser: Browser, house: House, view: View):
    with visiting(browser, house, view) as page:
        expect(page.get_by_text(f"Hatch night at {COLLECT}’s nest: full darkness, then collect, 22:00")).to_be_visible()
        moved, guarded = words(card(page, MOVE)), words(card(page, COLLECT))
        assert "Hatch night Tomorrow night 22:00" in moved and "Move him one or two evenings ahead" in moved
        assert "Never net him and make him spit" in moved
        assert "Hatch night Tonight 22:00" in guarded and "Collect the larvae at the nest" in guarded
        assert "Full darkness from lamps-out, no red lamp either" in guarded
        assert NEVER_OF_A_NEST.findall(guarded) == []
        expect(card(page, COLLECT).get_by_role("button", name="Clutch still there")).to_be_visible()
        expect(card(page, COLLECT).get_by_role("button", name="Ate")).to_have_count(0)
        expect(card(page, MOVE).get_by_role("button", name="Ate")).to_be_visible()
        sound(page, view)


def test_the_duties_of_the_evening_are_those_of_each_way(browser: Browser, house: House):
    with visiting(browser, house, DAY) as page:
        tap(page.get_by_role("button", name=re.compile("more to do")))
        rows = [words(row) for row in page.locator("li.duty").all()]
        [moved], [guarded] = ([row for row in rows if name in row] for name in ("Move him", "Collect the larvae"))
        assert MOVE in moved and COLLECT in guarded
        assert [row for row in rows if COLLECT in row and NEVER_OF_A_NEST.search(row)] == []


def test_a_look_at_one_that_lets_go_at_hatching_asks_as_of_a_mouth_and_for_larvae(browser: Browser, house: House):
    with visiting(browser, house, DAY) as page:
        open_look(page, house, MOVE)
        parts = ("Mouth", "Eggs", "Tails between his lips", "Larvae in the water", "At a normal feeding, he")
        expect(parts_asked(page)).to_have_text([re.compile(f"^{part}") for part in parts])


def test_a_look_at_a_nest_asks_for_the_clutch_and_says_what_it_would_mean(browser: Browser, house: House):
    with visiting(browser, house, DAY) as page:
        open_look(page, house, COLLECT)
        parts = ("Clutch", "Eggs", "Larvae in the water")
        expect(parts_asked(page)).to_have_text([re.compile(f"^{part}") for part in parts])
        expect(page.get_by_text("no lamp, not even red, and no screen at the glass")).to_be_visible()
        tap(page.get_by_role("group", name="Clutch").get_by_role("button", name="gone"))
        verdict = page.get_by_text("Hatch night: tonight, as before, until the server has worked it out.")
        expect(verdict).to_contain_text("hatched")
        tap(page.locator("summary", has_text="What to look for"))
        expect(page.get_by_text("Bare stone before its day")).to_be_visible()
        told = " ".join(words(page.locator(f"main {part}")) for part in (".notice", ".parts", "details"))
        assert NEVER_OF_A_NEST.findall(told) == []


@pytest.mark.parametrize("view", EVERYWHERE, ids=NAMES)
def test_the_page_of_a_nest_is_told_in_its_own_words_with_everything_opened(browser: Browser, house: House, view: View):
    with visiting(browser, house, view) as page:
        open_brood(page, house, COLLECT)
        open_all(page)
        said = words(page.locator("main"))
        assert NEVER_OF_A_NEST.findall(said) == []
        for own in ("Probably silver eggs", "Being ready tonight saves the most", "Clutch laid", "They hatched"):
            assert own in said
        assert "Look for the colour of the eggs" in said and "If larvae are in the water" in said
        columns = [words(head) for head in page.get_by_role("table").first.get_by_role("columnheader").all()]
        assert columns == ["Night", "Saved", "eggs", "silver", "hatched", "lost"]
        sound(page, view)


@pytest.mark.parametrize("view", EVERYWHERE, ids=NAMES)
def test_the_page_of_one_that_lets_go_at_hatching_never_advises_the_net(browser: Browser, house: House, view: View):
    with visiting(browser, house, view) as page:
        open_brood(page, house, MOVE)
        open_all(page)
        said = words(page.locator("main"))
        assert NEVER_AT_HATCHING.findall(said) == []
        for own in ("Being ready tomorrow night", "Move him tonight", "If larvae are in the water", "Took them up"):
            assert own in said
        sound(page, view)


def test_after_lamps_out_a_nest_is_not_looked_at(browser: Browser, dark: House):
    with visiting(browser, dark, NIGHT) as page:
        expect(card(page, COLLECT).get_by_text("Not now: full darkness until they have hatched")).to_be_visible()
        expect(card(page, COLLECT).get_by_role("button", name="Clutch still there")).to_have_count(0)
        expect(card(page, MOVE).get_by_role("button", name="Still full")).to_be_visible()
        open_look(page, dark, COLLECT)
        expect(page.get_by_role("heading", name="Not now: full darkness until they have hatched")).to_be_visible()
        expect(page.get_by_text("No light", exact=True)).to_be_visible()
        sound(page, NIGHT)
        tap(page.get_by_role("button", name="Change the light"))
        tap(page.get_by_role("button", name="Red lamp"))
        expect(page.get_by_text("a nest wants no lamp, not even red")).to_be_visible()


def test_a_look_is_played_back_and_larvae_in_the_water_are_told_to_be_saved(browser: Browser, dark: House):
    dark.set_clock(AT_ITS_HOUR)
    with visiting(browser, dark, NIGHT) as page:
        expect(page.get_by_text(f"Collect the larvae at {COLLECT}’s nest now")).to_be_visible()
        open_look(page, dark, COLLECT)
        tap(page.get_by_role("group", name="Larvae in the water").get_by_role("button", name="seen"))
        tap(page.get_by_role("button", name="Save", exact=True))
        alarm = page.get_by_role("region", name="Larvae are in the water. At once:")
        expect(alarm).to_contain_text("No net, no air stone")
        expect(alarm).to_contain_text(f"Larvae seen in the water with {COLLECT}")
        sound(page, NIGHT)
        open_brood(page, dark, COLLECT)
        # What has hatched since lamps-out is being collected: the night under way stands.
        expect(page.get_by_text("Almost surely hatched")).to_be_visible(timeout=PATIENCE_MS)
        expect(page.get_by_text("Being ready tonight saves the most").first).to_be_visible()
        tap(page.locator("summary", has_text="How the forecast developed"))
        tap(page.get_by_role("button", name="First", exact=True))
        expect(page.get_by_text("Wed 25 Nov, saves about")).to_be_visible()
        tap(page.get_by_role("button", name="Newest"))
        expect(page.locator("dd", has_text="Almost surely hatched")).to_be_visible()
        expect(page.get_by_text("First young out")).to_have_count(0)
