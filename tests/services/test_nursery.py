"""Young in their nursery: what is planned for them, when it is planned anew, and what phones are told."""

from __future__ import annotations

from datetime import timedelta

import pytest
import sqlalchemy as sa

from domain.fry import REARING
from holdwatch.records.instants import parse_instant
from holdwatch.services import nursery
from holdwatch.services.duties import links, work
from holdwatch.services.duties.kept import read_kept
from holdwatch.services.forecasts import issue_asked
from holdwatch.store import tables
from holdwatch.store.database import reading, writing
from people import Clock, Neighbours
from services.notebook import Notebook, hold
from services.rearing import PROFILES, TILL_MORNING, Nursery
from services.reminding import Recorder
from sync.pushing import added, push


def test_opening_a_batch_plans_meals_water_and_food_for_it(young: Nursery):
    plan = young.plan()
    assert set(plan) == {"feed_fry", "start_food", "test_water", "change_water"}
    assert all(duty["brood"] == young.batch for kind in plan.values() for duty in kind)
    assert plan["change_water"][0]["amount"] == {"quantity": 8.0, "unit": "L", "measures": 4.0, "measure": "white jug"}
    assert young.told["alive"] == 30 and young.told["meals_a_day"] == REARING.meals_a_day
    hatched = parse_instant(young.told["hatched_at"])
    assert timedelta(days=1) < young.clock.now() - hatched < timedelta(days=15)
    assert parse_instant(young.told["first_meal_at"]) >= young.clock.now()


def test_planning_again_changes_nothing_and_the_next_day_is_planned_by_itself(young: Nursery):
    first = young.plan()
    assert young.loop(minutes=5) == 0
    young.edit(young.batch, note="lid on")
    assert young.plan() == first
    # Lamps out at 21:30, lamps on at 8:30: then there is another day to plan.
    assert young.loop(minutes=20) == 1 and young.loop(hours=10) == 0 and young.loop(hours=2) == 1
    nights = {duty["night"] for duty in young.plan()["feed_fry"]}
    assert nights == {"2026-11-26", "2026-11-27", "2026-11-28"}


def test_a_meal_written_down_is_done_for_all(young: Nursery, engine: sa.Engine, neighbours: Neighbours):
    young.plan()
    first = young.plan(hours=TILL_MORNING.total_seconds() / 3600)["feed_fry"][0]
    assert first["done_at"] is None
    fed = added(neighbours.helper.who, "feeding", about=young.batch, at="2026-11-26T08:05:00.000Z", belly="half")
    assert push(engine, neighbours.helper.who, [fed], young.clock.now()).recomputing
    meals = young.plan()["feed_fry"]
    assert meals[0]["key"] == first["key"] and meals[0]["done_at"] == "2026-11-26T08:05:00.000Z"
    assert meals[1]["done_at"] is None


def test_a_meal_is_told_when_it_is_time_and_not_to_anybody_once_it_was_given(
    young: Nursery, engine: sa.Engine, phones: None
):
    young.loop()
    channel = Recorder()
    work(engine, young.clock.now(), {"push": channel}, "w")
    channel.sent.clear()
    first = young.plan(hours=11.5)["feed_fry"][0]
    young.clock.instant = parse_instant(first["due_at"])
    work(engine, young.clock.now(), {"push": channel}, "w")
    assert {person for person, key in channel.sent if key == first["key"]} == {"owner", "keeper", "helper"}
    second = young.plan()["feed_fry"][1]
    young.clock.instant = parse_instant(second["due_at"]) - timedelta(minutes=30)
    young.write("feeding", about=young.batch, belly="full")
    young.loop()
    young.clock.instant = parse_instant(second["due_at"])
    channel.sent.clear()
    work(engine, young.clock.now(), {"push": channel}, "w")
    assert [key for _, key in channel.sent if key == second["key"]] == []


def test_the_tin_says_when_and_how_much_to_set_going_and_what_was_is_done(young: Nursery):
    before = young.plan(hours=12)["start_food"][-1]
    assert before["amount"] is None
    tin = young.write("food", name="Blue tin", sort="brine_shrimp", nauplii_per_gram=200_000, hours_to_hatch=30)
    hatch = young.plan()["start_food"][-1]
    assert hatch["key"] == before["key"] and hatch["due_at"] < before["due_at"]
    assert hatch["amount"]["unit"] == "g" and hatch["amount"]["measure"] is None
    young.edit(tin, measure="blue spoon", measure_grams=0.005)
    assert young.plan()["start_food"][-1]["amount"]["measure"] == "blue spoon"
    young.edit(tin, finished=True)
    assert young.plan()["start_food"][-1]["amount"] is None
    young.clock.instant = parse_instant(hatch["due_at"])
    young.write("culture", about=young.batch, food_id=tin, sort="brine_shrimp", grams=0.02)
    (done,) = [one for one in young.plan()["start_food"] if one["key"] == hatch["key"]]
    assert done["done_at"] is not None


def test_a_culture_of_another_sort_is_no_hatch_of_shrimp(young: Nursery):
    young.write("culture", about=young.batch, sort="rotifers")
    assert all(duty["done_at"] is None for duty in young.plan(hours=1)["start_food"])


def test_a_bad_test_alarms_and_says_what_it_took_for_granted(young: Nursery):
    young.write("water_test", about=young.batch, ammonia_mg_l=1.0, ph=8.3)
    (alarm,) = young.plan()["ammonia_high"]
    assert alarm["done_at"] is None and alarm["amount"]["quantity"] == 20
    # 1 mg/L at pH 8.3, 26.5 °C and 35 psu: 9.3 % by Clegg & Whitfield 1995, computed by hand from the handbook's table.
    assert young.told["free_ammonia_mg_l"] == pytest.approx(0.093, abs=0.001)
    assert young.told["assumed"] == ["temperature_c", "salinity_psu"]
    young.write("water_change", about=young.batch, litres=20)
    assert young.plan(minutes=1)["ammonia_high"][0]["done_at"] is not None


def test_first_food_done_by_a_tap_is_not_asked_for_again_when_the_batch_is_opened(
    engine: sa.Engine, notebook: Notebook, clock: Clock
):
    brood = hold(notebook, clock.now(), days=24)
    issue_asked(engine, PROFILES, clock.now())
    done = {"about": brood, "what": "done", "duty": f"food:{brood}"}
    notebook.write("mark", clock.now(), at=clock.now(), **done)
    batch = notebook.write("batch", clock.move(hours=14), about=brood, at=clock.now(), alive=12)
    nursery.watch_nurseries(engine, PROFILES, clock.now())
    hatches = [d for d in notebook.derived("duties", batch)["duties"] if d["kind"] == "start_food"]
    assert hatches and all(parse_instant(hatch["due_at"]) > clock.now() for hatch in hatches)


def test_counts_and_deaths_say_how_many_are_alive(young: Nursery):
    young.write("count", about=young.batch, dead=2)
    young.loop(minutes=1)
    assert young.told["alive"] == 28
    young.write("count", about=young.batch, alive=25, how="about")
    young.loop(minutes=1)
    assert young.told["alive"] == 25


def test_a_batch_that_is_over_owes_nothing_and_one_reopened_does_again(young: Nursery, engine: sa.Engine):
    young.plan()
    young.edit(young.batch, ended="weaned", ended_at=young.clock.now())
    assert young.plan() == {}
    assert young.loop(days=3) == 0
    young.edit(young.batch, ended=None, ended_at=None)
    assert "feed_fry" in young.plan()
    young.edit(young.batch, gone=True)
    assert young.plan() == {}


def test_a_batch_of_unknown_young_lives_by_the_houses_clock(engine: sa.Engine, notebook: Notebook, clock: Clock):
    notebook.male(clock.now())
    batch = notebook.write("batch", clock.now(), at=clock.now(), name="Bucket")
    nursery.watch_nurseries(engine, PROFILES, clock.now())
    meal = next(d for d in notebook.derived("duties", batch)["duties"] if d["kind"] == "feed_fry")
    assert meal["due_at"] == "2026-11-26T08:00:00.000Z" and meal["amount"] is None
    assert notebook.derived("nursery", batch)["alive"] is None


def test_the_first_food_is_planned_with_the_forecast_and_done_by_what_is_set_going(
    engine: sa.Engine, notebook: Notebook, clock: Clock
):
    brood = hold(notebook, clock.now(), days=12)
    tin = {"sort": "brine_shrimp", "nauplii_per_gram": 150_000, "measure": "cap", "measure_grams": 0.01}
    notebook.write("food", clock.now(), **tin)
    issue_asked(engine, PROFILES, clock.now())
    (food,) = [d for d in notebook.derived("duties", brood)["duties"] if d["kind"] == "first_food"]
    assert food["key"] == f"food:{brood}" and food["amount"]["measure"] == "cap"
    clock.instant = parse_instant(food["due_at"])
    notebook.write("culture", clock.now(), at=clock.now(), about=brood, sort="brine_shrimp")
    issue_asked(engine, PROFILES, clock.now())
    (done,) = [d for d in notebook.derived("duties", brood)["duties"] if d["kind"] == "first_food"]
    assert done["done_at"] is not None


def test_a_link_to_a_meal_does_it_by_a_mark(young: Nursery, engine: sa.Engine, neighbours: Neighbours):
    meal = young.plan(hours=12)["feed_fry"][0]
    helper = neighbours.helper.who
    with writing(engine) as db:
        kept = read_kept(db, helper.household_id, young.batch)[meal["key"]]
        path = links.make_link(db, helper.household_id, helper.person_id, kept.duty, young.clock.now())
    with writing(engine) as db:
        _, changed = links.act_by_link(db, path.removeprefix("/d/"), "done", young.clock.now())
    assert changed
    assert young.plan()["feed_fry"][0]["done_at"] is not None


def test_a_meal_of_the_male_himself_answers_whether_he_eats_again(young: Nursery, engine: sa.Engine):
    with reading(engine) as db:
        (male,) = db.scalars(sa.select(tables.record.c.id).filter_by(kind="fish"))
    young.clock.move(days=1)
    young.write("feeding", about=male, took="ate")
    young.loop()
    (eats,) = [d for d in young.notebook.derived("duties", young.brood)["duties"] if d["kind"] == "eating_again"]
    assert eats["done_at"] is not None
