"""How a forecast developed, and what its night depends on, asked of the records."""

from __future__ import annotations

from datetime import timedelta

import pytest

from holdwatch.config import load_profiles
from holdwatch.services.forecasts import NotFound, depends_on, developed, issue_asked, question
from holdwatch.store.database import reading
from services.notebook import hold

PROFILES = load_profiles()


@pytest.fixture
def three_evenings(engine, notebook, clock):
    """A brood of sixteen days, forecast on three evenings with a look on each."""
    brood = hold(notebook, clock.now(), days=16)
    issue_asked(engine, PROFILES, clock.now())
    for _ in range(2):
        clock.move(days=1)
        notebook.write("look", clock.now(), about=brood, at=clock.now(), light="red", mouth="full", tails="none")
        issue_asked(engine, PROFILES, clock.now())
    return brood


def test_a_forecast_can_be_played_back_from_the_first(engine, notebook, three_evenings):
    with reading(engine) as db:
        back = developed(db, notebook.who.household_id, three_evenings)
    assert [one["issued_at"] for one in back] == sorted(one["issued_at"] for one in back)
    assert len(back) == 3
    now = notebook.derived("forecast", three_evenings)
    assert back[-1]["now"] == now["now"] and back[-1]["catch"] == now["catch"]
    assert back[-1]["hatched"]["q50"] == now["hatched"]["q50"]
    assert back[0]["hatched"] != back[-1]["hatched"]


def test_what_the_night_depends_on_is_told_with_its_range_and_source(engine, notebook, clock, three_evenings):
    with reading(engine) as db:
        asked = question(db, notebook.who.household_id, three_evenings, PROFILES, clock.now())
    assert asked.night.isoformat() == notebook.derived("forecast", three_evenings)["catch"]["night"]
    for one in depends_on(asked):
        assert one["low"] <= one["value"] <= one["high"] and one["source"]
        assert {one["night_at_low"], one["night_at_high"]} != {asked.night.isoformat()}


def test_another_household_and_a_brood_without_a_forecast_have_nothing_to_play_back(engine, notebook, clock):
    brood = hold(notebook, clock.now())
    with reading(engine) as db:
        for household, which in ((notebook.who.household_id, brood), ("another", brood), ("another", "none")):
            with pytest.raises(NotFound):
                developed(db, household, which)
            with pytest.raises(NotFound):
                question(db, household, which, PROFILES, clock.now())


def test_a_brood_that_is_over_is_played_back_but_not_doubted(engine, notebook, clock, three_evenings):
    clock.move(hours=1)
    notebook.write("mark", clock.now(), about=three_evenings, what="caught", at=clock.now(), yolk=30)
    issue_asked(engine, PROFILES, clock.now() + timedelta(minutes=1))
    with reading(engine) as db:
        assert developed(db, notebook.who.household_id, three_evenings)[-1]["catch"] is None
        with pytest.raises(NotFound, match="doubted"):
            question(db, notebook.who.household_id, three_evenings, PROFILES, clock.now())
