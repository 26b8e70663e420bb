"""Forecasts are issued from the records: when they are asked for, what they use, and what is kept of them."""

from __future__ import annotations

import json
import sys
from datetime import datetime, timedelta
from pathlib import Path

import pytest
import sqlalchemy as sa

from holdwatch.config import load_profiles
from holdwatch.forecast_file import run
from holdwatch.services.forecasts import issue_asked, issuing
from holdwatch.services.forecasts.issuing import Asked, issue_one
from holdwatch.services.recomputing import ask_for_broods
from holdwatch.store import tables
from holdwatch.store.database import reading, writing
from people import Clock, Neighbours
from services.notebook import Notebook, asked, hold

PROFILES = load_profiles()


def issued(engine: sa.Engine) -> list[dict]:
    with reading(engine) as db:
        rows = db.execute(sa.select(tables.issued_forecast).order_by(tables.issued_forecast.c.issued_at)).all()
    return [json.loads(row.body) for row in rows]


def test_a_look_asks_for_its_brood_and_the_loop_answers(engine: sa.Engine, notebook: Notebook, clock: Clock):
    brood = hold(notebook, clock.now())
    assert asked(engine) == {brood}
    assert issue_asked(engine, PROFILES, clock.now()) == 1
    assert asked(engine) == set()
    body = notebook.derived("forecast", brood)
    assert body["error"] is None and body["looks_used"] == 3
    assert body["catch"]["saved"] == max(night["saved"] for night in body["nights"])


def test_the_records_give_the_same_forecast_as_the_file_command(
    engine: sa.Engine, notebook: Notebook, clock: Clock, tmp_path: Path, capsys: pytest.CaptureFixture
):
    now = clock.now()
    brood = hold(notebook, now)
    issue_asked(engine, PROFILES, now)
    looks = [
        {"at": (now - timedelta(days=back)).isoformat(), "light": "daylight", "mouth": "full", "eggs": eggs}
        for back, eggs in ((18, "orange"), (9, "orange"), (2, "silver"))
    ]
    tank = {"zone": "Europe/Copenhagen", "set_point_c": 26.5, "lamps_out": "21:30", "lamps_on": "08:30"}
    told = {
        "species": "Pterapogon kauderni",
        "now": now.isoformat(),
        "tank": {**tank, "company": "others"},
        "male": {"has_released_before": False},
        "looks": looks,
        "not_before": (now - timedelta(days=19)).isoformat(),
    }
    file = tmp_path / "brood.json"
    file.write_text(json.dumps(told))
    assert run(str(file), True, sys.stdout, sys.stderr) == 0
    by_command = json.loads(capsys.readouterr().out)
    by_records = notebook.derived("forecast", brood)
    for step in ("spawned", "silver", "hatched", "released", "released_last", "catch", "now"):
        assert by_records[step] == by_command[step], step


def test_food_taken_at_a_feeding_counts_as_it_would_in_a_look(engine: sa.Engine, notebook: Notebook, clock: Clock):
    brood = hold(notebook, clock.now())
    issue_asked(engine, PROFILES, clock.now())
    before = notebook.derived("forecast", brood)["now"]["lost"]
    clock.move(hours=1)
    notebook.write("feeding", clock.now(), about=brood, at=clock.now(), took="ate")
    issue_asked(engine, PROFILES, clock.now())
    body = notebook.derived("forecast", brood)
    assert body["now"]["lost"] > 4 * before
    assert body["last_ate"] == "2026-11-25T21:10:00.000Z"


def test_what_he_ate_before_the_hold_is_shown_and_moves_nothing(
    engine: sa.Engine, notebook: Notebook, clock: Clock
):
    now = clock.now()
    brood = hold(notebook, now)
    issue_asked(engine, PROFILES, now)
    before = notebook.derived("forecast", brood)
    with reading(engine) as db:
        male = db.scalar(sa.select(tables.record.c.about).where(tables.record.c.id == brood))
    notebook.write("feeding", now, about=male, at=now - timedelta(days=25), took="ate")
    issue_asked(engine, PROFILES, now)
    body = notebook.derived("forecast", brood)
    assert body["last_ate"] == "2026-10-31T20:10:00.000Z"
    assert body["hatched"] == before["hatched"] and body["left_out"] == []


def test_a_moved_night_is_said_with_what_moved_it(engine: sa.Engine, notebook: Notebook, clock: Clock):
    brood = hold(notebook, clock.now(), days=16)
    issue_asked(engine, PROFILES, clock.now())
    before = notebook.derived("forecast", brood)["catch"]["night"]
    clock.move(hours=1)
    look = notebook.write("look", clock.now(), about=brood, at=clock.now(), light="red", tails="seen", mouth="full")
    issue_asked(engine, PROFILES, clock.now())
    body = notebook.derived("forecast", brood)
    assert body["changed"] == {"from_night": before, "to_night": body["catch"]["night"], "because": look}
    assert body["catch"]["night"] < before
    assert body["previous"]["catch"]["night"] == before


def test_every_issued_forecast_is_kept_and_none_is_overwritten(engine: sa.Engine, notebook: Notebook, clock: Clock):
    brood = hold(notebook, clock.now())
    for _ in range(3):
        issue_asked(engine, PROFILES, clock.now())
        clock.move(hours=2)
        notebook.write("look", clock.now(), about=brood, at=clock.now(), light="red", mouth="full")
    kept = issued(engine)
    assert len(kept) == 3
    assert [body["looks_used"] for body in kept] == [3, 4, 5]


def test_a_change_while_a_forecast_is_made_asks_again(engine: sa.Engine, notebook: Notebook, clock: Clock):
    brood = hold(notebook, clock.now())
    with reading(engine) as db:
        row = db.execute(sa.select(tables.recompute)).one()
    taken_up = Asked(row.household_id, row.brood_id, row.asked_at)
    clock.move(seconds=1)
    notebook.write("look", clock.now(), about=brood, at=clock.now(), light="red", mouth="full")
    issue_one(engine, PROFILES, taken_up, clock.now())
    assert asked(engine) == {brood}


def test_a_brood_whose_tank_is_not_known_says_so_and_waits(engine: sa.Engine, notebook: Notebook, clock: Clock):
    notebook.kinds["dangling"] = "fish"
    brood = notebook.write("brood", clock.now(), about="01890000-0000-7000-8000-000000000000")
    issue_asked(engine, PROFILES, clock.now())
    error = notebook.derived("forecast", brood)["error"]
    assert error.startswith("The male of this brood is not known here yet.") and "open Holdwatch there" in error


@pytest.mark.parametrize(
    ("missing", "said"),
    [
        (["lamps_out"], "His tank lacks a time at which its lamps go out. Add it under Household."),
        (
            ["zone", "lamps_on", "set_point_c"],
            "His tank lacks a time zone, a time at which its lamps come on and the temperature that its water is kept "
            "at. Add them under Household.",
        ),
    ],
)
def test_a_tank_that_lacks_something_says_what_in_words_to_act_on(engine, notebook, clock, missing, said):
    male = notebook.male(clock.now(), **dict.fromkeys(missing))
    brood = notebook.write("brood", clock.now(), about=male)
    issue_asked(engine, PROFILES, clock.now())
    assert notebook.derived("forecast", brood)["error"] == said


def test_a_catch_ends_the_nights_and_a_loss_ends_the_forecast(engine: sa.Engine, notebook: Notebook, clock: Clock):
    brood = hold(notebook, clock.now())
    issue_asked(engine, PROFILES, clock.now())
    clock.move(hours=2)
    notebook.write("mark", clock.now(), about=brood, at=clock.now(), what="caught", eggs=0, yolk=21, free=0)
    issue_asked(engine, PROFILES, clock.now())
    body = notebook.derived("forecast", brood)
    assert body["ended"] == "caught" and body["nights"] == [] and body["catch"] is None
    assert body["now"]["held_young"] > 0.9
    notebook.edit(brood, clock.now(), ended="lost")
    issue_asked(engine, PROFILES, clock.now())
    assert notebook.derived("forecast", brood)["ended"] == "caught"


def test_a_catch_that_nobody_counted_ends_the_nights_as_well(engine: sa.Engine, notebook: Notebook, clock: Clock):
    """What came up is not known, which is not the same as nothing; another phone may have taken its mark out, too."""
    brood = hold(notebook, clock.now())
    issue_asked(engine, PROFILES, clock.now())
    before = notebook.derived("forecast", brood)
    assert before["nights"]
    clock.move(minutes=5)
    mark = notebook.write("mark", clock.now(), about=brood, what="caught", at=clock.now())
    notebook.edit(brood, clock.now(), ended="caught", ended_at=clock.now())
    for gone in (False, True):
        notebook.edit(mark, clock.now(), gone=gone)
        issue_asked(engine, PROFILES, clock.now())
        body = notebook.derived("forecast", brood)
        assert (body["ended"], body["nights"], body["catch"]) == ("caught", [], None)
        assert body["now"] == before["now"]


def test_a_look_moved_to_another_brood_asks_for_both(engine: sa.Engine, notebook: Notebook, clock: Clock):
    one, other = hold(notebook, clock.now()), hold(notebook, clock.now())
    look = notebook.write("look", clock.now(), about=one, at=clock.now(), light="red", mouth="full")
    issue_asked(engine, PROFILES, clock.now())
    notebook.edit(look, clock.move(minutes=1), about=other)
    assert asked(engine) == {one, other}


def test_looks_from_before_the_brood_are_left_out_and_named(engine: sa.Engine, notebook: Notebook, clock: Clock):
    brood = hold(notebook, clock.now())
    early = clock.now() - timedelta(days=18)
    look = notebook.write("look", clock.now(), about=brood, at=early, light="red", mouth="full")
    notebook.edit(brood, clock.now(), not_before=clock.now() - timedelta(days=12))
    issue_asked(engine, PROFILES, clock.now())
    body = notebook.derived("forecast", brood)
    assert body["error"] is None and look in body["left_out"] and body["looks_used"] == 2


def test_the_males_last_end_is_the_earliest_spawn_of_his_next_brood(
    engine: sa.Engine, notebook: Notebook, clock: Clock
):
    now = clock.now()
    male = notebook.male(now)
    notebook.write("brood", now, about=male, ended="released", ended_at=now - timedelta(days=10))
    brood = notebook.write("brood", now, about=male)
    notebook.write("look", now, about=brood, at=now - timedelta(days=1), light="daylight", mouth="full", eggs="orange")
    issue_asked(engine, PROFILES, now)
    spawned = datetime.fromisoformat(notebook.derived("forecast", brood)["spawned"]["q05"])
    assert spawned > now - timedelta(days=10)


def test_a_spawn_that_may_lie_ahead_has_a_forecast(engine: sa.Engine, notebook: Notebook, clock: Clock):
    now = clock.now()
    brood = notebook.write("brood", now, about=notebook.male(now), not_after=now + timedelta(days=400))
    issue_asked(engine, PROFILES, now)
    body = notebook.derived("forecast", brood)
    assert body["error"] is None and body["now"]["eggs"] > 0.5


def test_a_brood_that_breaks_the_arithmetic_keeps_no_other_from_its_forecast(
    engine: sa.Engine, notebook: Notebook, clock: Clock, monkeypatch: pytest.MonkeyPatch
):
    poisoned, healthy = hold(notebook, clock.now()), hold(notebook, clock.move(seconds=1))
    made = issuing.forecast_body

    def breaks(story, *more):
        return 1 / 0 if story.brood.id == poisoned else made(story, *more)

    monkeypatch.setattr(issuing, "forecast_body", breaks)
    assert issue_asked(engine, PROFILES, clock.now()) == 2
    assert asked(engine) == set()
    assert "could not be worked out" in notebook.derived("forecast", poisoned)["error"]
    assert notebook.derived("forecast", healthy)["catch"]


def test_what_a_phone_a_little_ahead_has_seen_counts_at_once(engine: sa.Engine, notebook: Notebook, clock: Clock):
    brood = hold(notebook, clock.now())
    ahead = clock.now() + timedelta(seconds=90)
    look = notebook.write("look", clock.now(), about=brood, at=ahead, light="red", mouth="full", tails="seen")
    notebook.write("mark", clock.now(), about=brood, at=ahead, what="courtship")
    tomorrow = clock.now() + timedelta(days=1)
    far = notebook.write("look", clock.now(), about=brood, at=tomorrow, light="red", tails="none")
    issue_asked(engine, PROFILES, clock.now())
    body = notebook.derived("forecast", brood)
    assert body["error"] is None and look not in body["left_out"] and far in body["left_out"]
    assert body["looks_used"] == 4


def test_a_spawning_that_was_seen_is_believed_before_a_bound_that_was_guessed(
    engine: sa.Engine, notebook: Notebook, clock: Clock
):
    now = clock.now()
    brood = hold(notebook, now)
    notebook.write("mark", now, about=brood, at=now - timedelta(days=21), what="spawning", at_error_min=60)
    issue_asked(engine, PROFILES, now)
    body = notebook.derived("forecast", brood)
    assert body["error"] is None
    assert body["spawned"]["q50"][:10] == (now - timedelta(days=21)).date().isoformat()


def test_a_worker_that_was_overtaken_writes_nothing(engine: sa.Engine, notebook: Notebook, clock: Clock):
    brood = hold(notebook, clock.now())
    with reading(engine) as db:
        row = db.execute(sa.select(tables.recompute)).one()
    slow = Asked(row.household_id, row.brood_id, row.asked_at)
    clock.move(seconds=1)
    notebook.write("look", clock.now(), about=brood, at=clock.now(), light="red", mouth="full", tails="seen")
    issue_asked(engine, PROFILES, clock.now())
    newest = notebook.derived("forecast", brood)
    issue_one(engine, PROFILES, slow, clock.now())
    assert notebook.derived("forecast", brood) == newest


def test_one_household_asks_for_its_own_broods_only(
    engine: sa.Engine, notebook: Notebook, neighbours: Neighbours, clock: Clock
):
    brood = hold(notebook, clock.now())
    issue_asked(engine, PROFILES, clock.now())
    stranger = Notebook(engine, neighbours.stranger.who)
    stranger.write("look", clock.now(), about=brood, at=clock.now(), light="red", mouth="normal")
    assert asked(engine) == set()
    with writing(engine) as db:
        ask_for_broods(db, [(neighbours.stranger.who.household_id, brood)], clock.now())
    issue_asked(engine, PROFILES, clock.now())
    assert stranger.derived("forecast", brood)["error"].startswith("This brood is not known here yet.")
