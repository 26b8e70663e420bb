"""The water of a tank is looked at now and then: what phones are told, what is to be done, which forecasts move."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest
import sqlalchemy as sa

from holdwatch.records.instants import milliseconds
from holdwatch.services.forecasts import issue_asked
from holdwatch.services.sync import Push, agree
from holdwatch.services.temperature import used_points, watch_water
from holdwatch.store import tables
from holdwatch.store.database import reading
from people import Clock
from services.measuring import PROFILES, Water
from services.notebook import Notebook, asked


@pytest.fixture
def water(engine: sa.Engine, notebook: Notebook, clock: Clock) -> Water:
    return Water(engine, notebook, clock)


def test_phones_get_hourly_means_of_sixty_days_in_hundredths(water: Water):
    water.days(70, 26.25, minutes=60)
    water.watch()
    body = water.body
    assert len(body["hours"]) == 60 * 24 and set(body["hours"]) == {2625}
    assert body["from"] == "2026-09-26T20:00:00.000Z"
    assert body["zone"] == "Europe/Copenhagen"
    assert (body["range"]["low_c"], body["range"]["high_c"]) == (25.0, 31.0)
    assert "usual in tanks" in body["range"]["low_source"] and "natural habitat" in body["range"]["high_source"]
    assert body["thermometers"] == [{"name": "probe", "is_out": False}]
    assert body["gaps"] == body["left_out"] == []


def test_readings_that_flow_in_by_the_minute_make_one_revision_an_hour(water: Water, clock: Clock):
    water.days(2, 26.0, minutes=1)
    water.watch()
    issue_asked(water.engine, PROFILES, clock.now())
    before, looked = water.revision(), 0
    for _ in range(180):
        clock.move(minutes=1)
        water.measure(26.0, clock.now())
        looked += watch_water(water.engine, PROFILES, clock.now())
    assert water.revision() - before == 3
    assert 15 <= looked <= 20
    assert asked(water.engine) == set()


def test_a_body_that_says_the_same_is_not_sent_again(water: Water):
    water.days(2, 26.0)
    water.watch()
    before = water.revision()
    water.notebook.edit(water.tank, water.clock.now(), note="moved a stone")
    told = water.revision()
    assert water.watch() == 1 and water.revision() == told == before + 1
    assert water.watch(hours=1) == 0


def test_what_is_left_out_is_told_and_a_keepers_word_brings_it_back(water: Water, clock: Clock):
    celsius = np.full(300, 26.0)
    celsius[100:103] = 33.0
    water.measure(celsius, clock.now() - timedelta(hours=50), at_once=True)
    water.watch()
    (left,) = water.body["left_out"]
    assert (left["why"], left["n"], left["low"], left["high"], left["is_used"]) == ("spike", 3, 3300, 3300, False)
    assert max(water.body["hours"], key=lambda hour: hour or 0) == 2600
    issue_asked(water.engine, PROFILES, clock.now())
    said = {"about": water.tank, "thermometer": "probe", "since": left["since"], "until": left["until"], "right": True}
    trust = water.notebook.write("trust", clock.now(), **said)
    assert water.watch() == 1
    assert water.body["left_out"][0]["is_used"] and max(hour or 0 for hour in water.body["hours"]) == 2833
    assert asked(water.engine) == {water.brood}
    water.notebook.edit(trust, clock.move(minutes=1), gone=True)
    water.watch()
    assert not water.body["left_out"][0]["is_used"]


def test_a_thermometer_that_is_wrong_is_left_out_of_the_forecast_too(water: Water, clock: Clock):
    water.days(3, 26.0)
    water.measure(np.full(400, 30.0), clock.now() - timedelta(hours=68), name="air")
    household = water.notebook.who.household_id
    with reading(water.engine) as db:
        assert max(point.celsius for point in used_points(db, household, water.tank, clock.now())) == 28
    word = water.notebook.write("trust", clock.now(), about=water.tank, thermometer="air", right=False)
    water.watch()
    with reading(water.engine) as db:
        assert {point.celsius for point in used_points(db, household, water.tank, clock.now())} == {26.0}
    assert water.body["thermometers"] == [{"name": "probe", "is_out": False}, {"name": "air", "is_out": True}]
    assert water.body["together"] == []
    water.notebook.edit(word, clock.move(minutes=1), right=True)
    water.watch()
    assert {one["is_out"] for one in water.body["thermometers"]} == {False}
    assert water.body["together"] == ["probe", "air"]


def test_a_forecast_uses_hourly_means_as_it_would_use_typed_readings(water: Water, clock: Clock):
    issue_asked(water.engine, PROFILES, clock.now())
    before = water.notebook.derived("forecast", water.brood)["hatched"]["q50"]
    for back in range(20, 0, -1):
        at = clock.now() - timedelta(days=back)
        water.measure(np.full(24, 28.5), at, minutes=60)
    water.watch()
    assert asked(water.engine) == set()
    water.watch(hours=1)
    clock.move(hours=1)
    water.measure(28.5, clock.now())
    water.watch()
    assert asked(water.engine) == {water.brood}
    issue_asked(water.engine, PROFILES, clock.now())
    after = water.notebook.derived("forecast", water.brood)["hatched"]["q50"]
    assert after < before


def test_too_warm_is_a_duty_of_the_tank_told_once_a_spell(water: Water, clock: Clock):
    water.days(2, 30.0)
    water.watch()
    assert water.duties == []
    # 20:10 there: only the next hour is one that was too warm from its beginning to its end.
    water.measure(np.full(18, 31.2), clock.now())
    for minutes, kinds in ((60, []), (50, ["too_warm"])):
        water.watch(minutes=minutes)
        assert water.duties == kinds
        water.measure(31.2, clock.now(), name="other")
    with reading(water.engine) as db:
        (first,) = db.execute(sa.select(tables.duty).filter_by(brood_id=water.tank)).all()
    told_at = clock.now()
    for celsius in (31.4, 30.9, 31.3, 30.6, 31.1):
        water.measure(np.full(6, celsius), clock.now(), name="other")
        water.watch(minutes=60)
        assert water.duties == ["too_warm"]
    with reading(water.engine) as db:
        (last,) = db.execute(sa.select(tables.duty).filter_by(brood_id=water.tank)).all()
    assert (last.key, last.version, last.due_at, last.tell_at) == (first.key, 1, first.due_at, first.tell_at)
    assert first.tell_at == milliseconds(told_at) and last.until_at > first.until_at
    # An hour inside the range ends it, unless the next ones show that the thermometer had only been lifted out.
    for celsius, kinds in ((30.4, []), (31.2, ["too_warm"]), (30.2, []), (30.2, []), (30.2, []), (31.2, ["too_warm"])):
        water.measure(np.full(6, celsius), clock.now(), name="other")
        water.watch(minutes=60)
        assert water.duties == kinds
    with reading(water.engine) as db:
        known = db.execute(sa.select(tables.duty).filter_by(brood_id=water.tank).order_by(tables.duty.c.due_at)).all()
    assert [(one.key == first.key, one.version) for one in known] == [(True, 1), (False, 1)]
    assert known[1].tell_at == milliseconds(clock.now())


def test_an_hour_that_is_not_over_is_neither_told_of_nor_acted_on(water: Water, clock: Clock):
    water.days(2, 30.0)
    # From 20:10 to 21:00, of which the last alone lies in the hour that is not over.
    water.measure(np.full(6, 31.1), clock.now())
    water.watch(minutes=55)
    assert water.duties == []
    water.measure([31.1, 36.9, 31.1, 31.1, 31.1], clock.now(), at_once=True)
    water.watch(minutes=45)
    assert water.duties == [] and water.body["left_out"] == []
    water.measure(31.1, clock.now())
    water.watch(minutes=15)
    assert water.duties == ["too_warm"] and water.body["left_out"][0]["n"] == 1


def test_a_typed_reading_beyond_the_range_is_enough_and_is_taken_by_somebody(water: Water, clock: Clock):
    write = water.notebook.write
    write("reading", clock.now(), about=water.tank, at=clock.now(), temperature_c=24.0, source="typed")
    assert water.watch() == 1 and water.duties == ["too_cold"]
    (duty,) = water.notebook.derived("duties", water.tank)["duties"]
    assert duty["brood"] == water.tank and duty["taken_by"] is None
    write("mark", clock.move(minutes=1), about=water.tank, at=clock.now(), what="taken", duty=duty["key"])
    assert water.watch() == 1
    (taken,) = water.notebook.derived("duties", water.tank)["duties"]
    assert taken["taken_by"] == water.notebook.who.person_id
    write("mark", clock.move(minutes=1), about=water.tank, at=clock.now(), what="done", duty=duty["key"])
    water.watch()
    (done,) = water.notebook.derived("duties", water.tank)["duties"]
    assert done["done_at"] is not None
    assert water.body is None


def test_a_word_that_a_typed_reading_was_right_asks_for_nothing(water: Water, clock: Clock):
    typed = water.notebook.write("reading", clock.now(), about=water.tank, at=clock.now(), temperature_c=16.2)
    assert water.watch() == 1
    water.notebook.write("trust", clock.move(minutes=1), about=typed, right=True)
    assert water.watch() == 0


def test_no_species_is_no_range_and_no_duty(engine, notebook, clock):
    tank = notebook.write("tank", clock.now(), name="Empty", zone="Europe/Copenhagen", set_point_c=26)
    notebook.write("reading", clock.now(), about=tank, at=clock.now(), temperature_c=40.0)
    assert watch_water(engine, PROFILES, clock.now()) == 1
    assert notebook.derived("duties", tank) is None
    notebook.write("fish", clock.move(minutes=1), about=tank, species="pterapogon_kauderni", sex="female")
    assert watch_water(engine, PROFILES, clock.now()) == 1
    assert [duty["kind"] for duty in notebook.derived("duties", tank)["duties"]] == ["too_warm"]


def test_a_tank_that_was_taken_away_is_let_be(water: Water, clock: Clock):
    water.days(1, 33.0)
    water.notebook.edit(water.tank, clock.now(), gone=True)
    assert water.watch() == 1 and water.body is None and water.duties == []


def test_a_fault_of_one_tank_keeps_no_other_from_being_looked_at(water: Water, clock: Clock, monkeypatch, caplog):
    def fails(*_):
        raise ZeroDivisionError

    water.days(1, 26.0)
    monkeypatch.setattr("holdwatch.services.temperature.watching.temperature_body", fails)
    assert water.watch() == 1 and "fault of the program" in caplog.text
    monkeypatch.undo()
    assert water.watch() == 0
    water.days(0.1, 26.0)
    assert water.watch(minutes=10) == 1 and water.body is not None


def test_a_phone_is_told_to_ask_again_while_its_water_waits_to_be_looked_at(water: Water, clock: Clock):
    def is_waiting() -> bool:
        with reading(water.engine) as db:
            return agree(db, water.notebook.who, Push([], 2**50, 1, False), clock.now()).recomputing

    issue_asked(water.engine, PROFILES, clock.now())
    assert not is_waiting()
    water.days(1, 26.0)
    assert is_waiting()
    water.watch()
    water.measure(26.0, clock.now())
    # What flows in waits for its turn, and nobody need ask for it.
    assert not is_waiting()
