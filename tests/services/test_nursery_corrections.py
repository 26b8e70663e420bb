"""What is written of young in their nursery may be late, corrected, taken out, another's or wrong: the plan follows."""

from __future__ import annotations

from datetime import timedelta

import pytest
import sqlalchemy as sa

from holdwatch.records.instants import parse_instant
from holdwatch.services import nursery
from holdwatch.services.access.leaving import remove_person
from holdwatch.services.derived import raise_revision
from holdwatch.services.forecasts import issue_asked
from holdwatch.services.nursery import watching
from holdwatch.services.sync import Push, agree
from holdwatch.store import tables
from holdwatch.store.database import reading, writing
from people import Clock, Neighbours
from services.notebook import Notebook, hold
from services.rearing import PROFILES, Nursery
from sync.pushing import added, push


def test_a_test_from_the_future_says_nothing_until_its_time(young: Nursery):
    at = young.clock.now() + timedelta(days=1)
    young.notebook.write("water_test", young.clock.now(), about=young.batch, at=at, ammonia_mg_l=5.0)
    assert "ammonia_high" not in young.plan() and young.told["tested_at"] is None
    assert "ammonia_high" in young.plan(days=1, hours=1)


def test_a_meal_from_a_phone_that_is_fast_counts_when_its_time_has_come(young: Nursery):
    meal = young.plan(hours=12)["feed_fry"][0]
    at = young.clock.now() + timedelta(minutes=40)
    young.notebook.write("feeding", young.clock.now(), about=young.batch, at=at, belly="full")
    assert young.plan()["feed_fry"][0]["done_at"] is None
    assert young.loop(minutes=26) == 1
    (same,) = [one for one in young.plan()["feed_fry"] if one["key"] == meal["key"]]
    assert same["done_at"] is not None


def test_a_meal_that_a_helper_took_out_by_emptying_it_is_none(young: Nursery):
    young.plan(hours=12)
    meal = young.write("feeding", about=young.batch, belly="half")
    started = young.write("culture", about=young.batch, grams=0.01)
    assert young.plan()["feed_fry"][0]["done_at"] is not None
    young.edit(meal, belly=None)
    young.edit(started, grams=None)
    plan = young.plan()
    assert plan["feed_fry"][0]["done_at"] is None and all(hatch["done_at"] is None for hatch in plan["start_food"])


def test_a_meal_that_was_another_batchs_is_this_ones_no_longer(young: Nursery):
    other = young.write("batch", name="Second")
    young.plan(hours=12)
    meal = young.write("feeding", about=young.batch, took="ate")
    assert young.plan()["feed_fry"][0]["done_at"] is not None
    young.edit(meal, about=other)
    assert young.plan()["feed_fry"][0]["done_at"] is None


def test_what_somebody_had_taken_on_who_left_is_anybodys_again(
    young: Nursery, engine: sa.Engine, neighbours: Neighbours
):
    meal = young.plan(hours=12)["feed_fry"][0]
    keeper = neighbours.keeper.who
    taken = added(keeper, "mark", about=young.batch, at="2026-11-26T08:05:00.000Z", what="taken", duty=meal["key"])
    assert [v.verdict for v in push(engine, keeper, [taken], young.clock.now()).verdicts] == ["taken"]
    assert young.plan()["feed_fry"][0]["taken_by"] == keeper.person_id
    with writing(engine) as db:
        raise_revision(db, keeper.household_id)
        remove_person(db, neighbours.owner.who, keeper.person_id, young.clock.move(minutes=1))
    assert young.plan()["feed_fry"][0]["taken_by"] is None
    assert young.notebook.derived("forecast", young.batch) is None


def test_young_that_are_there_have_hatched_whatever_was_forecast(
    engine: sa.Engine, notebook: Notebook, clock: Clock
):
    brood = hold(notebook, clock.now(), days=8)
    issue_asked(engine, PROFILES, clock.now())
    batch = notebook.write("batch", clock.now(), about=brood, at=clock.now(), alive=12)
    nursery.watch_nurseries(engine, PROFILES, clock.now())
    told = notebook.derived("nursery", batch)
    assert parse_instant(told["first_meal_at"]) - clock.now() < timedelta(days=4)


def test_the_dead_that_two_people_found_died_once(young: Nursery, engine: sa.Engine, neighbours: Neighbours):
    young.write("count", about=young.batch, dead=2)
    twin = added(neighbours.keeper.who, "count", about=young.batch, at="2026-11-25T20:15:00.000Z", dead=2)
    push(engine, neighbours.keeper.who, [twin], young.clock.move(minutes=6))
    young.loop()
    assert young.told["alive"] == 28


def test_other_lamps_move_the_meals(young: Nursery, engine: sa.Engine):
    before = young.plan()["feed_fry"][0]["due_at"]
    with reading(engine) as db:
        (tank,) = db.scalars(sa.select(tables.record.c.id).filter_by(kind="tank"))
    young.edit(tank, lamps_on="10:30")
    assert young.plan()["feed_fry"][0]["due_at"] != before


def test_a_batch_without_a_time_waits_for_one(engine: sa.Engine, notebook: Notebook, clock: Clock):
    batch = notebook.write("batch", clock.now(), name="Bucket")
    nursery.watch_nurseries(engine, PROFILES, clock.now())
    assert notebook.derived("duties", batch) is None
    notebook.edit(batch, clock.move(minutes=1), at=clock.now())
    nursery.watch_nurseries(engine, PROFILES, clock.now())
    assert notebook.derived("duties", batch)["duties"]


def test_a_neighbour_cannot_write_into_a_batch_of_ours(young: Nursery, engine: sa.Engine, neighbours: Neighbours):
    young.plan()
    stranger = neighbours.stranger.who
    fed = added(stranger, "feeding", about=young.batch, at="2026-11-26T08:05:00.000Z")
    with writing(engine) as db:
        agree(db, stranger, Push([fed], 0, 5, False), young.clock.now())
    assert young.loop() == 0


def test_a_fault_in_one_batch_keeps_no_other_from_its_duties(
    young: Nursery, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
):
    other = young.write("batch", name="Second")
    first, planned = young.batch, watching.planned_for_nursery

    def faulty(batch, now):
        return 1 / 0 if batch.id == first else planned(batch, now)

    monkeypatch.setattr(watching, "planned_for_nursery", faulty)
    assert young.loop() == 2
    assert young.notebook.derived("duties", first) is None and young.notebook.derived("duties", other)["duties"]
    assert first in caplog.text
    monkeypatch.undo()
    assert young.loop(minutes=1) == 0 and "feed_fry" in young.plan(hours=7)
