"""A male or a tank that was taken away: nothing is forecast, planned or told of what is not there any more."""

from __future__ import annotations

from datetime import timedelta

import pytest
import sqlalchemy as sa

from holdwatch.channels.message import Outcome
from holdwatch.config import load_profiles
from holdwatch.services.duties import work
from holdwatch.services.forecasts import ask_for_aged, issue_asked
from people import Clock, Neighbours
from services.notebook import Notebook, asked, hold
from services.reminding import Recorder, deliveries, states, subscribe

PROFILES = load_profiles()
WHY = {
    "fish": "He was taken away. Put him back, or say how the brood ended.",
    "tank": "His tank was taken away. Put it back, or move him to another.",
}


def of_kind(notebook: Notebook, kind: str) -> str:
    """The id of the only record of its kind."""
    (found,) = (record for record, its in notebook.kinds.items() if its == kind)
    return found


@pytest.mark.parametrize("kind", ["fish", "tank"])
def test_a_brood_whose_male_or_tank_was_taken_away_says_so_and_asks_nothing_of_anybody(
    engine: sa.Engine, notebook: Notebook, clock: Clock, kind: str
):
    brood = hold(notebook, clock.now())
    issue_asked(engine, PROFILES, clock.now())
    assert notebook.derived("duties", brood)["duties"]
    notebook.edit(of_kind(notebook, kind), clock.move(minutes=5), gone=True)
    issue_asked(engine, PROFILES, clock.now())
    body = notebook.derived("forecast", brood)
    assert body["error"] == WHY[kind]
    assert body["nights"] == body["grid"] == [] and body["catch"] is None
    assert notebook.derived("duties", brood) == {"duties": []}


def test_what_was_queued_is_not_sent_once_he_is_taken_away(
    engine: sa.Engine, notebook: Notebook, neighbours: Neighbours, clock: Clock
):
    brood = hold(notebook, clock.now())
    subscribe(engine, neighbours.owner, "phone", clock.now())
    notebook.write("look", clock.now(), about=brood, at=clock.now(), light="red", loose_fry="seen")
    issue_asked(engine, PROFILES, clock.now())
    busy = Recorder(answers={"phone": [Outcome("later", "503")] * 9})
    work(engine, clock.now(), {"push": busy}, "w1")
    assert "waiting" in states(engine)
    notebook.edit(of_kind(notebook, "fish"), clock.move(minutes=5), gone=True)
    issue_asked(engine, PROFILES, clock.now())
    channel = Recorder()
    work(engine, clock.move(hours=1), {"push": channel}, "w1")
    assert channel.sent == []
    assert {row.state for row in deliveries(engine) if row.person_id == neighbours.owner.who.person_id} == {"dropped"}


def test_who_is_put_back_has_his_forecast_and_his_duties_again(engine: sa.Engine, notebook: Notebook, clock: Clock):
    brood = hold(notebook, clock.now())
    issue_asked(engine, PROFILES, clock.now())
    before = notebook.derived("duties", brood)["duties"]
    fish = of_kind(notebook, "fish")
    for gone in (True, False):
        notebook.edit(fish, clock.move(seconds=1), gone=gone)
        issue_asked(engine, PROFILES, clock.now())
    assert notebook.derived("forecast", brood)["catch"]
    assert [duty["key"] for duty in notebook.derived("duties", brood)["duties"]] == [duty["key"] for duty in before]


def test_lamps_that_change_ask_for_nothing_of_who_was_taken_away(engine: sa.Engine, notebook: Notebook, clock: Clock):
    hold(notebook, clock.now())
    notebook.edit(of_kind(notebook, "tank"), clock.move(seconds=1), gone=True)
    issue_asked(engine, PROFILES, clock.now())
    assert ask_for_aged(engine, clock.move(days=9)) == 0 and asked(engine) == set()


def test_the_story_of_a_brood_that_was_caught_stays_when_its_male_is_taken_away(
    engine: sa.Engine, notebook: Notebook, clock: Clock
):
    brood = hold(notebook, clock.now())
    notebook.write("mark", clock.now(), about=brood, at=clock.now(), what="caught", eggs=0, yolk=21, free=0)
    issue_asked(engine, PROFILES, clock.now())
    before = notebook.derived("forecast", brood)
    notebook.edit(of_kind(notebook, "fish"), clock.move(minutes=5), gone=True)
    notebook.write("look", clock.now(), about=brood, at=clock.now() - timedelta(days=1), light="red", mouth="full")
    issue_asked(engine, PROFILES, clock.now())
    assert notebook.derived("forecast", brood) == before
    assert before["ended"] == "caught" and before["error"] is None
