"""What finished broods teach: kept when they end, changed when they are corrected, and put before the next."""

from __future__ import annotations

import json
from datetime import datetime, timedelta

import pytest
import sqlalchemy as sa

from holdwatch.config import load_profiles
from holdwatch.services.forecasts import issue_asked
from holdwatch.services.recomputing import ask_for_broods
from holdwatch.store import tables
from holdwatch.store.database import reading, writing
from people import Clock
from services.notebook import Notebook, asked, hold

PROFILES = load_profiles()


def lessons(engine: sa.Engine) -> dict[str, dict]:
    with reading(engine) as db:
        return {row.brood_id: json.loads(row.body) for row in db.execute(sa.select(tables.lesson))}


def male_of(engine: sa.Engine, brood: str) -> str:
    with reading(engine) as db:
        return db.scalar(sa.select(tables.record.c.about).where(tables.record.c.id == brood))


def issue_all(engine: sa.Engine, now: datetime) -> None:
    while issue_asked(engine, PROFILES, now):
        pass


def hold_five_days(engine: sa.Engine, notebook: Notebook, clock: Clock, male: str) -> str:
    """A brood of that male, seen full four days ago and yesterday."""
    brood = notebook.write("brood", clock.now(), about=male)
    for back in (4, 1):
        at = clock.now() - timedelta(days=back)
        notebook.write("look", clock.now(), about=brood, at=at, light="daylight", mouth="full", eggs="orange")
    issue_all(engine, clock.now())
    return brood


@pytest.fixture
def caught_early(engine: sa.Engine, notebook: Notebook, clock: Clock):
    """A brood that was caught early, with yolk-sac young on day 17, thirty days ago; its id and that of the catch."""
    brood = hold(notebook, clock.now(), days=17)
    caught = notebook.write("mark", clock.now(), about=brood, what="caught", at=clock.now(), yolk=40)
    issue_asked(engine, PROFILES, clock.now())
    clock.move(days=30)
    return brood, caught


@pytest.fixture
def after_a_catch(engine: sa.Engine, notebook: Notebook, clock: Clock, caught_early):
    """The brood that was caught early, and the same male's next one, five days on."""
    first, caught = caught_early
    return first, caught, hold_five_days(engine, notebook, clock, male_of(engine, first))


def test_a_brood_that_ends_leaves_a_lesson_and_the_next_leans_on_it(engine, notebook, after_a_catch):
    first, _, second = after_a_catch
    assert set(lessons(engine)) == {first}
    body = notebook.derived("forecast", second)
    assert body["learned"]["own_broods"] == 1 and set(body["taught"]["broods"]) == {first}
    # Hatched by day 17: earlier than the books' 19 days, and so the next one is expected a little earlier.
    assert body["taught"]["own_hatch_days"] < 17.5 < body["books"]["hatch_days"]
    assert body["learned"]["hatch_days"] < body["books"]["hatch_days"] - 0.5
    assert body["learned"]["early_chance"] < 0.15


def test_a_brood_under_way_teaches_nothing_and_no_brood_itself(engine, notebook, clock):
    brood = hold(notebook, clock.now())
    issue_asked(engine, PROFILES, clock.now())
    assert lessons(engine) == {}
    assert notebook.derived("forecast", brood)["learned"] is None


def test_opening_an_old_brood_again_takes_its_lesson_away_and_says_why(engine, notebook, clock, after_a_catch):
    first, caught, second = after_a_catch
    with_it = notebook.derived("forecast", second)
    clock.move(minutes=10)
    notebook.edit(caught, clock.now(), gone=True)
    issue_all(engine, clock.now())
    assert lessons(engine) == {}
    without = notebook.derived("forecast", second)
    assert without["learned"] is None and without["hatched"]["q50"] > with_it["hatched"]["q50"]
    # The night to catch stays, so that nothing but this word would tell why the hatching moved by nearly a day.
    night = with_it["catch"]["night"]
    assert without["changed"] == {"from_night": night, "to_night": night, "because": first}
    # It is a word on this change: the next forecast has none.
    clock.move(minutes=10)
    with writing(engine) as db:
        ask_for_broods(db, [(notebook.who.household_id, second)], clock.now())
    issue_all(engine, clock.now())
    assert notebook.derived("forecast", second)["changed"] is None


def test_correcting_an_old_brood_changes_what_it_taught_and_the_forecasts_that_lean_on_it(
    engine, notebook, clock, after_a_catch
):
    first, caught, second = after_a_catch
    before, old = lessons(engine)[first], notebook.derived("forecast", second)
    clock.move(minutes=10)
    notebook.edit(caught, clock.now(), eggs=40, yolk=0)
    issue_all(engine, clock.now())
    assert lessons(engine)[first]["hatch_days"] > before["hatch_days"] + 1
    new = notebook.derived("forecast", second)
    assert new["hatched"]["q50"] > old["hatched"]["q50"]
    nights = {"from_night": old["catch"]["night"], "to_night": new["catch"]["night"]}
    assert new["changed"] == {**nights, "because": first} and nights["from_night"] < nights["to_night"]


def test_a_catch_that_nobody_counted_teaches_nothing(engine, notebook, clock, after_a_catch):
    """It must not count as one that brought up nothing, and so as a brood that he had lost or let go."""
    first, caught, second = after_a_catch
    clock.move(minutes=10)
    notebook.edit(caught, clock.now(), yolk=None)
    issue_all(engine, clock.now())
    assert lessons(engine) == {} and notebook.derived("forecast", second)["learned"] is None


def test_another_males_brood_that_is_corrected_is_named_too(engine, notebook, clock, caught_early):
    first, caught = caught_early
    other = hold_five_days(engine, notebook, clock, notebook.male(clock.now()))
    old = notebook.derived("forecast", other)
    assert old["learned"]["own_broods"] == 0 and set(old["taught"]["broods"]) == {first}
    clock.move(minutes=10)
    notebook.edit(caught, clock.now(), eggs=40, yolk=0)
    issue_all(engine, clock.now())
    new = notebook.derived("forecast", other)
    assert new["changed"]["because"] == first and new["hatched"]["q50"] > old["hatched"]["q50"]


def test_an_ending_that_is_corrected_is_named_by_its_brood(engine, notebook, clock):
    first = hold(notebook, clock.now(), days=20)
    notebook.edit(first, clock.now(), ended="released", ended_at=clock.now())
    issue_all(engine, clock.now())
    clock.move(days=30)
    second = hold_five_days(engine, notebook, clock, male_of(engine, first))
    released = notebook.derived("forecast", second)
    clock.move(minutes=10)
    notebook.edit(first, clock.now(), ended="lost")
    issue_all(engine, clock.now())
    lost = notebook.derived("forecast", second)
    assert lessons(engine)[first]["lost"] and lost["hatched"] != released["hatched"]
    assert lost["changed"]["because"] == first


def test_a_look_of_his_own_goes_before_what_another_brood_taught(engine, notebook, clock, after_a_catch):
    _, caught, second = after_a_catch
    clock.move(days=9)
    issue_all(engine, clock.now())
    notebook.edit(caught, clock.now(), eggs=40, yolk=0)
    seen = {"light": "daylight", "mouth": "full", "tails": "seen"}
    look = notebook.write("look", clock.now(), about=second, at=clock.now(), **seen)
    issue_all(engine, clock.now())
    body = notebook.derived("forecast", second)
    assert body["changed"]["from_night"] != body["changed"]["to_night"] and body["changed"]["because"] == look


def test_a_lesson_is_the_same_whenever_it_is_worked_out(engine, notebook, clock, after_a_catch):
    first, _, _ = after_a_catch
    before = lessons(engine)
    clock.move(days=90)
    with writing(engine) as db:
        ask_for_broods(db, [(notebook.who.household_id, first)], clock.now())
    assert issue_asked(engine, PROFILES, clock.now()) == 1
    assert lessons(engine) == before
    assert asked(engine) == set()


def test_a_brood_that_was_a_mistake_teaches_nothing(engine, notebook, clock):
    brood = hold(notebook, clock.now())
    notebook.edit(brood, clock.now(), ended="mistake", ended_at=clock.now())
    issue_asked(engine, PROFILES, clock.now())
    assert lessons(engine) == {}


def test_a_brood_that_is_taken_out_takes_its_lesson_with_it(engine, notebook, clock, after_a_catch):
    first, _, second = after_a_catch
    clock.move(minutes=10)
    notebook.edit(first, clock.now(), gone=True)
    while issue_asked(engine, PROFILES, clock.now()):
        pass
    assert lessons(engine) == {}
    assert notebook.derived("forecast", second)["learned"] is None


@pytest.mark.parametrize(("how", "early"), [("lost", 0.5), ("released", 0.01)])
def test_a_brood_that_nobody_caught_teaches_by_how_it_ended(engine, notebook, clock, how, early):
    days = 3 if how == "lost" else 28
    brood = hold(notebook, clock.now(), days=days)
    notebook.edit(brood, clock.now(), ended=how, ended_at=clock.now())
    issue_asked(engine, PROFILES, clock.now())
    one = lessons(engine)[brood]
    assert (one["early"] > early) is (how == "lost")
    assert len(one["hatch"]) == len(one["mouth"]) == 32
    assert one["lost"] is (how == "lost")


def test_a_lost_brood_is_left_out_of_what_is_told_of_hatching(engine, notebook, clock, after_a_catch):
    first, _, second = after_a_catch
    male = male_of(engine, first)
    lost = notebook.write("brood", clock.now(), about=male, ended="lost", ended_at=clock.now() - timedelta(days=7))
    at = clock.now() - timedelta(days=9)
    notebook.write("look", clock.now(), about=lost, at=at, light="daylight", mouth="full", eggs="orange")
    before = notebook.derived("forecast", second)["taught"]
    while issue_asked(engine, PROFILES, clock.now()):
        pass
    after = notebook.derived("forecast", second)["taught"]
    assert set(after["broods"]) == {first, lost}
    assert after["own_hatch_days"] == before["own_hatch_days"] and after["hatch_days"] == before["hatch_days"]
