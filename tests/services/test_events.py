"""An event that two people logged counts once, and counts as two when somebody says that it was."""

from __future__ import annotations

import itertools
from datetime import timedelta

import pytest
import sqlalchemy as sa

from holdwatch.config import load_profiles
from holdwatch.services.forecasts import issue_asked
from holdwatch.services.forecasts.reading import last_ate, understand
from holdwatch.services.forecasts.story import Story, read_story
from holdwatch.store.database import reading
from people import Clock, Neighbours
from services.notebook import Notebook, hold

MINUTES = timedelta(minutes=1)
PROFILES = load_profiles()


@pytest.fixture
def keepers(engine: sa.Engine, neighbours: Neighbours) -> Notebook:
    """What the keeper writes on her own phone."""
    theirs = Notebook(engine, neighbours.keeper.who)
    # Ids of one millisecond are told apart by this count alone.
    theirs.count = itertools.count(1000)
    return theirs


@pytest.fixture
def owners(engine: sa.Engine, neighbours: Neighbours) -> Notebook:
    return Notebook(engine, neighbours.owner.who)


def used(engine: sa.Engine, notebook: Notebook, brood: str, clock: Clock) -> int:
    issue_asked(engine, PROFILES, clock.now())
    return notebook.derived("forecast", brood)["looks_used"]


def story_of(engine: sa.Engine, notebook: Notebook, brood: str, clock: Clock) -> Story:
    with reading(engine) as db:
        return read_story(db, notebook.who.household_id, brood, clock.now())


def test_a_look_that_two_logged_counts_once_and_twice_when_it_was_two(engine, owners, keepers, clock: Clock):
    brood = hold(owners, clock.now())
    at = clock.now() - timedelta(hours=5)
    owners.write("look", clock.now(), about=brood, at=at, light="daylight", mouth="full")
    assert used(engine, owners, brood, clock) == 4
    theirs = keepers.write("look", clock.now(), about=brood, at=at + 10 * MINUTES, light="daylight", mouth="full")
    assert used(engine, owners, brood, clock) == 4
    keepers.edit(theirs, clock.now(), separate=True)
    assert used(engine, owners, brood, clock) == 5
    keepers.edit(theirs, clock.now(), separate=None, mouth="smaller")
    assert used(engine, owners, brood, clock) == 5


def test_a_feeding_of_the_male_and_one_of_his_brood_are_one_meal(engine, owners, keepers, clock: Clock):
    brood = hold(owners, clock.now())
    male = story_of(engine, owners, brood, clock).male.id
    at = clock.now() - timedelta(hours=8)
    owners.write("feeding", clock.now(), about=male, at=at, took="ate")
    keepers.write("feeding", clock.now(), about=brood, at=at + 20 * MINUTES, took="ate", food="mysis")
    assert used(engine, owners, brood, clock) == 4
    assert last_ate(story_of(engine, owners, brood, clock)) == at + 20 * MINUTES


def test_a_courtship_that_two_saw_weighs_as_much_as_one(engine, owners, keepers, clock: Clock):
    brood = owners.write("brood", clock.now(), about=owners.male(clock.now()))
    at = clock.now() - timedelta(days=4)
    profile = PROFILES["pterapogon_kauderni"]

    def courtships() -> int:
        understood = understand(story_of(engine, owners, brood, clock), profile, clock.now())
        return len(understood.evidence.courtship)

    owners.write("mark", clock.now(), about=brood, at=at, what="courtship")
    theirs = keepers.write("mark", clock.now(), about=brood, at=at + 90 * MINUTES, what="courtship")
    assert courtships() == 1
    keepers.edit(theirs, clock.now(), separate=True)
    assert courtships() == 2
