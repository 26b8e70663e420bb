"""What the household does not take: every kind of refusal is kept, explained at its value, mended or exported."""

from __future__ import annotations

import json
import re
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from browser.house import DAYTIME, House, running, until
from browser.walk import View, saved, sound, tap, visiting

DAY = View("light", 390)
# Pages write nothing that the household refuses as long as phone and server agree; so what waits is spoilt behind them.
SPOIL = """
([kind, values]) => new Promise((done, fail) => {
  const opening = indexedDB.open('holdwatch');
  opening.onerror = () => fail(opening.error);
  opening.onsuccess = () => {
    const tx = opening.result.transaction(['outbox', 'records'], 'readwrite');
    const [outbox, records] = [tx.objectStore('outbox'), tx.objectStore('records')];
    tx.oncomplete = () => { opening.result.close(); done(); };
    outbox.getAll().onsuccess = ({ target: { result } }) => {
      const entry = result.filter((one) => one.kind === kind).at(-1);
      const [{ stamp }] = Object.values(entry.fields);
      records.get(entry.record).onsuccess = ({ target: { result: record } }) => {
        for (const [name, value] of Object.entries(values)) {
          entry.fields[name] = { value, stamp, was: null };
          record.fields[name] = { value, stamp };
        }
        outbox.put(entry);
        records.put(record);
      };
    };
  };
})
"""


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    """The example household for this test alone, which changes it."""
    with running(tmp_path, DAYTIME, "--example") as house:
        yield house


@contextmanager
def phone(browser: Browser, house: House, login: str, view: View = DAY) -> Iterator[Page]:
    """A phone without a connection."""
    with visiting(browser, house, view, login=login) as page:
        until(page, "navigator.serviceWorker.controller !== null")
        page.context.set_offline(True)
        yield page


def log(page: Page, house: House, **spoilt: Any) -> None:
    """A look, of which some values are spoilt."""
    page.goto(f"{house.origin}/")
    tap(page.get_by_role("button", name="Still full").first)
    saved(page)
    if spoilt:
        page.evaluate(SPOIL, ["look", spoilt])


def change_tank(page: Page, house: House, **spoilt: Any) -> None:
    page.goto(f"{house.origin}/household")
    page.get_by_role("button", name="Change Hall tank").click()
    page.get_by_label("Lamps go out").fill("22:15")
    page.get_by_role("button", name="Save the tank").click()
    saved(page)
    if spoilt:
        page.evaluate(SPOIL, ["tank", spoilt])


def send(page: Page, house: House) -> None:
    """Let the phone have its connection, and go to what was refused."""
    page.context.set_offline(False)
    page.goto(f"{house.origin}/household")
    expect(page.locator("main").get_by_text(re.compile("^Up to date with the household"))).to_be_visible()
    expect(page.locator("main").get_by_text("Nothing is waiting to go up").first).to_be_visible()
    page.goto(f"{house.origin}/attention")
    page.get_by_role("heading", name="Needs attention").wait_for()


def entry(page: Page, words: str) -> Locator:
    """The entry that says this."""
    return page.locator("section.panel").filter(has_text=words)


def kept(house: House, kind: str) -> list[dict[str, Any]]:
    """What the server has of that kind."""
    with sqlite3.connect(house.folder / "holdwatch.sqlite3") as db:
        return [json.loads(fields) for (fields,) in db.execute("select fields from record where kind = ?", [kind])]


def all_is_well(page: Page) -> None:
    expect(page.get_by_text("Nothing needs attention.")).to_be_visible()


def test_each_refusal_stands_at_its_value_and_holds_up_nothing_else(browser: Browser, house: House):
    before = len(kept(house, "look"))
    with phone(browser, house, "mira") as page:
        log(page, house, at="2026-10-01T10:00:00.000Z")
        log(page, house, mouth="enormous")
        log(page, house)
        change_tank(page, house, set_point_c=60)
        log(page, house, fins=3)
        log(page, house)
        send(page, house)
        # Those that are well have gone up past the others.
        assert len(kept(house, "look")) == before + 2
        expect(page.locator("section.panel")).to_have_count(4)
        # The reason goes once its value is touched, so each is found by its place.
        one = page.locator("section.panel").first
        sends = one.get_by_role("button", name="Send it again")
        expect(one).to_contain_text("This look lies before the brood began")
        one.get_by_label("When").fill("2026-11-23T18:10")
        sends.click()
        expect(one).to_contain_text("Choose one of these.")
        # What stands there is none of the choices: nothing looks chosen, and nothing can be sent so.
        expect(one.get_by_role("combobox", name="Mouth")).to_have_value("")
        expect(sends).to_be_disabled()
        one.get_by_role("combobox", name="Mouth").select_option("smaller")
        sends.click()
        expect(one).to_contain_text("Must be between -5 and 45 °C.")
        expect(one.get_by_role("heading", name="Hall tank")).to_be_visible()
        water = one.get_by_role("textbox", name="Water is kept at, °C")
        water.fill("warm")
        expect(one).to_contain_text("This must be a number.")
        water.fill("26,5")
        sends.click()
        expect(one).to_contain_text("This server does not know this value.")
        one.get_by_role("button", name="Send without it: Fins").click()
        sends.click()
        all_is_well(page)
        send(page, house)
        all_is_well(page)
        assert len(kept(house, "look")) == before + 5
        assert {tank["set_point_c"] for tank in kept(house, "tank")} == {26.5, 26}


@pytest.mark.parametrize("length", [3000, 20_000, 700_000])
def test_a_note_that_is_too_long_to_send_is_shortened_by_hand(browser: Browser, house: House, length: int):
    with phone(browser, house, "mira") as page:
        log(page, house, note="n" * length)
        log(page, house)
        send(page, house)
        expect(page.get_by_text(f"{length:,} characters; 2,000 fit.")).to_be_visible()
        expect(page.get_by_role("button", name="Send it again")).to_be_disabled()
        page.get_by_role("textbox", name="Note").fill("hollow belly")
        page.get_by_role("button", name="Send it again").click()
        all_is_well(page)
        send(page, house)
        assert [look["note"] for look in kept(house, "look") if look.get("note") == "hollow belly"] == ["hollow belly"]


def test_what_a_helper_may_not_send_is_shown_exported_and_sent_by_whoever_may(browser: Browser, house: House):
    with phone(browser, house, "jonas") as page:
        change_tank(page, house)
        with sqlite3.connect(house.folder / "holdwatch.sqlite3") as db:
            db.execute("update person set role = 'helper' where name = 'Jonas'")
        send(page, house)
        refused = entry(page, "A helper cannot send this.")
        expect(refused).to_contain_text("22:15")
        expect(page.get_by_role("button", name="Send it again")).to_have_count(0)
        with page.expect_download() as loading:
            page.get_by_role("button", name="Export").click()
        file = json.loads(Path(loading.value.path()).read_text())
        assert [write["fields"]["lamps_out"]["value"] for write in file["writes"]] == ["22:15"]
        refused.get_by_role("button", name="Leave it out").click()
        all_is_well(page)
        page.get_by_role("button", name="Undo").click()
        expect(refused).to_be_visible()
        with sqlite3.connect(house.folder / "holdwatch.sqlite3") as db:
            db.execute("update person set role = 'keeper' where name = 'Jonas'")
        page.reload()
        page.get_by_role("button", name="Send it again").click()
        all_is_well(page)
        send(page, house)
        assert "22:15" in {tank["lamps_out"] for tank in kept(house, "tank")}


@pytest.mark.parametrize("view", [DAY, View("night", 390), View("light", 1440)], ids=str)
def test_refusals_can_be_read_and_hit_in_every_skin(browser: Browser, house: House, view: View):
    with phone(browser, house, "mira", view) as page:
        log(page, house, mouth="enormous")
        log(page, house, note="n" * 3000)
        log(page, house, at="2026-10-01T10:00:00.000Z")
        send(page, house)
        page.get_by_text("The rest of this entry").first.click()
        sound(page, view)
