"""Every page in both skins: axe finds nothing, nothing sticks out, every target can be hit, the night is red."""

from __future__ import annotations

import os

import pytest
from playwright.sync_api import Browser

from browser.house import House
from browser.walk import Found, View, places, survey, visiting

# Each skin and each glass once; the long counts add what only mixes these.
FULL = [View("night", 390), View("light", 390), View("dark", 1440)]
NARROW = [View("night", 320)]
if os.environ.get("HOLDWATCH_PROOF") == "1":
    FULL += [View("night", 1440), View("dark", 390), View("light", 1440)]
    NARROW += [View("light", 320)]
DIMMED = [View("night", 390, dim=1), View("night", 390, dim=2)]
SEEN_AT_THE_TANK = ("tonight", "look, filled in", "brood")

# The first of them walks through every page, which a busy machine may take minutes for.
pytestmark = pytest.mark.timeout(900)

Walks = dict[tuple[View, str], Found]


@pytest.fixture(scope="module")
def walks(browser: Browser, example: House) -> Walks:
    """What was found on each page in each view."""
    found: Walks = {}
    for view in FULL + NARROW + DIMMED:
        with visiting(browser, example, view) as page:
            for name, place in places(page, example).items():
                if not view.dim or name in SEEN_AT_THE_TANK:
                    found[view, name] = survey(page, example, view, place, with_axe=view not in NARROW)
    return found


def faults(walks: Walks, what: str) -> dict[tuple[View, str], tuple]:
    """Where there was something, and what."""
    return {where: getattr(found, what) for where, found in walks.items() if getattr(found, what)}


def test_axe_finds_nothing_on_any_page_in_any_skin(walks: Walks):
    assert faults(walks, "axe") == {}


def test_nothing_sticks_out_of_the_glass_or_of_its_panel(walks: Walks):
    assert faults(walks, "wide") == {}


def test_every_target_is_as_large_as_a_finger_needs(walks: Walks):
    assert faults(walks, "small") == {}


def test_the_night_skin_paints_red_and_nothing_else(walks: Walks):
    assert faults(walks, "strays") == {}
