"""Temperature in a real browser: a file is imported, a sensor writes, doubts are settled, warm water becomes a duty."""

from __future__ import annotations

import json
import math
import re
import urllib.error
import urllib.request
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from playwright.sync_api import Browser, Page, expect

from browser.house import DAYTIME, ZONE, House, running, until
from browser.walk import Found, Place, View, saved, sound, survey, tap, visiting
from holdwatch.example import household as ours

DAYS = 20
OTHER = ours.TANKS[1].name
VIEWS = [View("night", 390), View("light", 390), View("dark", 1440), View("night", 320), View("night", 390, dim=2)]


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """A server with the example household."""
    with running(tmp_path_factory.mktemp("warm"), DAYTIME, "--example") as house:
        yield house


@pytest.fixture
def page(browser: Browser, house: House) -> Iterator[Page]:
    """The owner on the page of the hall tank's temperature, by day at a phone's width."""
    with visiting(browser, house, View("light", 390)) as page:
        open_temperature(page, house)
        yield page


def open_temperature(page: Page, house: House, tank: str = "Hall tank") -> str:
    page.goto(f"{house.origin}/household")
    tap(page.get_by_role("link", name=f"Temperature of {tank}"))
    expect(page.get_by_role("heading", level=1)).to_have_text(tank)
    return page.url


def log_file(folder: Path, now: datetime) -> Path:
    """Twenty days every ten minutes by a logger of the trade's usual kind: semicolons, decimal commas, day first."""
    lines = ["Datum;Uhrzeit;Becken (°C)"]
    for number in range(DAYS * 144):
        at = (now - timedelta(days=DAYS, minutes=-10 * number)).astimezone(ZoneInfo(ZONE))
        celsius = 26.2 + 0.5 * math.sin(number / 144 * 2 * math.pi)
        if number in (700, 701, 1500):
            celsius = 33.4
        if 900 <= number < 900 + 60:
            continue
        lines.append(f"{at:%d.%m.%Y};{at:%H:%M};{celsius:.1f}".replace(".", ",").replace(",", ".", 2))
    lines.insert(40, "01.11.2026;12:00;85,0")
    lines.insert(80, "01.11.2026;12:10;---")
    file = folder / "hall logger.csv"
    file.write_bytes("\r\n".join(lines).encode("latin-1"))
    return file


def send(house: House, token: str, *readings: tuple[datetime, float]) -> list[str]:
    """Readings of a sensor, as a device sends them."""
    body = [{"at": at.isoformat(), "temperature_c": celsius} for at, celsius in readings]
    headers = {"Authorization": f"Bearer {token}", "Content-Type": "application/json"}
    asked = urllib.request.Request(f"{house.origin}/api/v1/readings", json.dumps(body).encode(), headers)
    with urllib.request.urlopen(asked) as answer:
        return [one["verdict"] for one in json.load(answer)["verdicts"]]


def test_a_file_is_understood_and_taken_and_its_doubts_are_settled(page: Page, house: House, tmp_path: Path):
    page.get_by_label("File").set_input_files(log_file(tmp_path, house.now()))
    expect(page.get_by_text("Nothing is kept yet.")).to_be_visible()
    expect(page.get_by_label("Date and time")).to_have_value("0")
    expect(page.get_by_label("Time of day")).to_have_value("1")
    expect(page.get_by_label("Unit")).to_have_value("C")
    page.get_by_role("button", name="Import", exact=True).click()
    done = f"{DAYS * 144 - 60:,} readings taken, 0 were there already, 2 lines could not be taken."
    expect(page.get_by_text(done)).to_be_visible()
    expect(page.get_by_role("row", name="41 85 °C is outside")).to_be_visible()
    expect(page.get_by_role("row", name="81 '---' is no temperature")).to_be_visible()
    expect(page.get_by_role("heading", name=re.compile("2 readings, 33.4 °C"))).to_be_visible()
    page.get_by_role("button", name="60 days").click()
    expect(page.get_by_role("img", name=re.compile("Hourly means from .* 2 spans left out"))).to_be_visible()
    page.get_by_role("button", name=re.compile("It was right")).first.click()
    expect(page.get_by_text("Used all the same:")).to_be_visible()
    expect(page.get_by_role("img", name=re.compile("1 span left out"))).to_be_visible()
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text("Used all the same:")).to_have_count(0)
    page.get_by_role("button", name="Leave out hall logger").click()
    page.get_by_role("button", name="Use hall logger again").click()
    expect(page.get_by_role("button", name="Leave out hall logger")).to_be_visible()


def test_an_open_order_is_asked_for_and_nothing_is_sent_before(page: Page, tmp_path: Path):
    file = tmp_path / "order.csv"
    file.write_text("when,water\n03/11/2026 20:10,26.1\n04/11/2026 20:10,26.2\n")
    page.get_by_label("File").set_input_files(file)
    expect(page.get_by_text("What day is 03/11/2026 20:10?")).to_be_visible()
    expect(page.get_by_role("button", name="Import", exact=True)).to_be_disabled()
    page.get_by_label("Unit").select_option("C")
    page.get_by_role("button", name=re.compile("11 Mar 2026|Mar 11")).click()
    expect(page.get_by_role("row", name=re.compile("2 .*Mar 2026.* 26.1 °C"))).to_be_visible()
    expect(page.get_by_role("button", name="Import", exact=True)).to_be_enabled()


def test_a_sensor_gets_its_token_once_and_warm_water_becomes_a_duty(page: Page, house: House):
    open_temperature(page, house, OTHER)
    page.get_by_text("Add a sensor").click()
    page.get_by_label("Name of the sensor").fill("probe")
    page.get_by_role("button", name="Make a token").click()
    token = page.get_by_role("status").locator("output").inner_text()
    expect(page.get_by_text("curl")).to_contain_text(f"Bearer {token}")
    now = house.now()
    hot = [(now - timedelta(minutes=10 * number), 31.6) for number in range(40)]
    assert set(send(house, token, *hot)) == {"taken"} and set(send(house, token, hot[0])) == {"known"}
    page.reload()
    expect(page.get_by_text("last wrote just now")).to_be_visible()
    expect(page.get_by_text(token)).to_have_count(0)
    page.goto(house.origin)
    duty = page.get_by_role("listitem").filter(has_text="The water is too warm")
    until(page, "document.body.innerText.includes('The water is too warm')")
    expect(duty).to_contain_text(OTHER)
    duty.get_by_role("button", name=re.compile("I’ll do it")).click()
    expect(duty).to_contain_text("Yours")
    open_temperature(page, house, OTHER)
    expect(page.get_by_text("warmer than the 31.0 °C")).to_be_visible()
    page.get_by_role("button", name=re.compile("^Done: The water is too warm")).click()
    expect(page.get_by_text("You did it, just now")).to_be_visible()
    page.get_by_role("button", name="Revoke the token of probe").click()
    page.get_by_role("alert").get_by_role("button", name="Revoke the token of probe").click()
    expect(page.get_by_text("last wrote")).to_have_count(0)
    with pytest.raises(urllib.error.HTTPError, match="401"):
        send(house, token, hot[0])


def test_a_typed_reading_far_from_all_others_is_doubted_and_mended(browser: Browser, house: House):
    night = View("night", 390)
    with visiting(browser, house, night) as page:
        page.goto(f"{house.origin}/broods")
        tap(page.locator('main li:not(.over) a[href^="/brood/"]').filter(has_text="Quill"))
        tap(page.get_by_role("link", name="Look at Quill"))
        tap(page.get_by_role("button", name="full", exact=True))
        tap(page.get_by_role("button", name="Add temperature"))
        for _ in range(20):
            tap(page.get_by_role("button", name="0.5 °C less"))
        tap(page.get_by_role("button", name="Save", exact=True))
        saved(page)
        open_temperature(page, house)
        doubts = page.locator("section", has=page.get_by_role("heading", name="Typed, and doubtful"))
        tap(doubts.get_by_role("button", name=re.compile("^It was right: 16")))
        expect(doubts).to_contain_text("Said to be right; it counts as it is.")
        tap(page.get_by_role("button", name="Undo"))
        expect(doubts).not_to_contain_text("Said to be right")
        tap(doubts.get_by_role("button", name=re.compile("^Correct 16")))
        sound(page, night)
        for _ in range(10):
            tap(doubts.get_by_role("button", name="1 °C more", exact=True))
        tap(doubts.get_by_role("button", name="Save the correction"))
        expect(doubts).to_have_count(0)


def test_the_page_is_sound_in_every_skin_and_width(browser: Browser, house: House):
    found: dict[View, Found] = {}
    for view in VIEWS:
        with visiting(browser, house, view) as page:
            address = open_temperature(page, house).removeprefix(house.origin)
            place = Place(address, lambda page: page.get_by_role("heading", name="Left out"), open_all)
            found[view] = survey(page, house, view, place, with_axe=view.width != 320)
    assert {view: one for view, one in found.items() if any(vars(one).values())} == {}


def open_all(page: Page) -> None:
    page.evaluate("document.querySelectorAll('details').forEach((one) => (one.open = true))")
