"""Planned duties in the database: their versions, what comes down to phones, and what is taken back."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import sqlalchemy as sa

from domain.hold import BROOD, local
from holdwatch.records.instants import instant_text
from holdwatch.services.derived import derived_body
from holdwatch.store import tables
from holdwatch.store.database import reading, writing
from services.reminding import Told, body, plan, record

NOW = local(24, 10)


def rows(engine) -> dict[str, tuple[int, bool]]:
    """Version and whether withdrawn, by key."""
    with reading(engine) as db:
        found = db.execute(sa.select(tables.duty)).all()
    return {row.key: (row.version, row.withdrawn_at is not None) for row in found}


def revision(engine, who) -> int:
    with reading(engine) as db:
        return db.scalar(sa.select(tables.derived.c.revision).filter_by(household_id=who.household_id, kind="duties"))


def test_what_comes_down_to_phones_has_the_form_of_the_contract(engine, neighbours):
    who = neighbours.owner.who
    shown = plan(engine, who, Told(), body(NOW), NOW)
    assert [duty["key"] for duty in shown] == [f"window:{BROOD}", f"look:{BROOD}:2026-11-24", f"catch:{BROOD}"]
    assert shown[-1] == {
        "key": f"catch:{BROOD}",
        "kind": "catch_tonight",
        "brood": BROOD,
        "night": "2026-11-25",
        "due_at": "2026-11-25T21:30:00.000Z",
        "until_at": "2026-11-26T08:00:00.000Z",
        "version": 1,
        "taken_by": None,
        "done_at": None,
        "skipped": False,
        "was_due_at": None,
        "amount": None,
    }
    with reading(engine) as db:
        assert derived_body(db, who.household_id, "duties", BROOD) == {"duties": shown}


def test_planning_again_changes_nothing_and_sends_nothing_down(engine, neighbours):
    who = neighbours.owner.who
    first = plan(engine, who, Told(), body(NOW), NOW)
    before = rows(engine), revision(engine, who)
    for _ in range(3):
        assert plan(engine, who, Told(), body(NOW), NOW) == first
    assert (rows(engine), revision(engine, who)) == before


def test_another_night_raises_the_version_and_the_same_night_does_not(engine, neighbours):
    who = neighbours.owner.who
    key = f"catch:{BROOD}"
    plan(engine, who, Told(), body(NOW), NOW)
    plan(engine, who, Told(), body(NOW, catch=date(2026, 11, 26)), NOW)
    assert rows(engine)[key] == (2, False)
    plan(engine, who, Told(), body(NOW, catch=date(2026, 11, 26), lost=0.1), NOW)
    assert rows(engine)[key] == (2, False)
    plan(engine, who, Told(), body(NOW), NOW)
    assert rows(engine)[key] == (3, False)


def test_a_duty_gone_from_the_plan_is_withdrawn_and_one_that_is_over_is_left_alone(engine, neighbours):
    who = neighbours.owner.who
    plan(engine, who, Told(), body(NOW), NOW)
    later = local(25, 12)
    plan(engine, who, Told(end="caught"), body(later), later)
    assert rows(engine) == {
        f"catch:{BROOD}": (1, True),
        f"window:{BROOD}": (1, True),
        f"look:{BROOD}:2026-11-24": (1, False),
    }


def test_a_withdrawn_duty_that_comes_back_unmoved_keeps_its_version(engine, neighbours):
    who = neighbours.owner.who
    plan(engine, who, Told(), body(NOW), NOW)
    plan(engine, who, Told(), body(NOW, catch=None), NOW)
    assert rows(engine)[f"catch:{BROOD}"] == (1, True)
    plan(engine, who, Told(), body(NOW), NOW)
    assert rows(engine)[f"catch:{BROOD}"] == (1, False)


def test_a_brood_taken_back_takes_its_duties_with_it(engine, neighbours):
    who = neighbours.owner.who
    seen = record("l1", "look", "ada", at="2026-11-24T08:50:00Z", light="daylight", loose_fry="seen")
    assert "fry_loose" in {duty["kind"] for duty in plan(engine, who, Told(looks=(seen,)), body(NOW), NOW)}
    assert plan(engine, who, Told(looks=(seen,), gone=True), body(NOW), NOW) == []
    assert all(withdrawn for _, withdrawn in rows(engine).values())


def test_marks_are_read_as_people_made_them(engine, neighbours):
    who = neighbours.owner.who
    key = f"catch:{BROOD}"
    marks = (
        record("m2", "mark", "ben", "1764061900000.0000.cd34ef56", what="taken", duty=key, at="2026-11-24T09:00:00Z"),
        record("m1", "mark", "ada", "1764061800000.0000.ab12cd34", what="taken", duty=key, at="2026-11-24T09:10:00Z"),
        record("m3", "mark", "ben", "1764061950000.0000.cd34ef56", what="spawning", at="2026-11-01T09:00:00Z"),
        # Without `at` the stamp says when.
        record("m4", "mark", "ben", "1795600000000.0000.cd34ef56", what="done", duty=f"window:{BROOD}"),
    )
    shown = {duty["key"]: duty for duty in plan(engine, who, Told(marks=marks), body(NOW), NOW)}
    assert shown[key]["taken_by"] == "ada" and shown[key]["version"] == 1
    assert shown[f"window:{BROOD}"]["done_at"] == "2026-11-25T09:46:40.000Z"


def test_without_a_forecast_the_plan_stands_and_loose_fry_are_told(engine, neighbours):
    who = neighbours.owner.who
    plan(engine, who, Told(), body(NOW), NOW)
    seen = record("l1", "look", "ada", at="2026-11-24T08:50:00Z", light="daylight", loose_fry="seen")
    broken = {"brood": BROOD, "error": "The tank has no zone yet.", "nights": [], "grid": [], "catch": None}
    shown = plan(engine, who, Told(looks=(seen,)), broken, NOW)
    assert {duty["kind"] for duty in shown} == {"window_opens", "look_tonight", "catch_tonight", "fry_loose"}


def afterwards(engine) -> dict[str, bool]:
    """Which duties of a brood that is over stand."""
    kinds = ("pumps", "part", "eats", "condition", "rest")
    return {key.split(":")[0]: not gone for key, (_, gone) in rows(engine).items() if key.split(":")[0] in kinds}


def test_once_he_was_caught_pumps_rest_and_condition_are_planned_and_what_led_there_is_not(engine, neighbours):
    who, caught = neighbours.owner.who, local(25, 22, 40)
    plan(engine, who, Told(), body(NOW), NOW)
    shown = plan(engine, who, Told(end="caught", end_at=caught), body(NOW), caught)
    assert [duty["kind"] for duty in shown] == [
        "catch_tonight", "pumps_on", "part_pair", "eating_again", "condition_check", "rest_over"
    ]  # fmt: skip
    assert shown[0]["done_at"] == instant_text(caught)
    assert rows(engine)[f"window:{BROOD}"][1] and not rows(engine)[f"catch:{BROOD}"][1]


def test_a_brood_anew_asks_for_what_was_owed_after_the_one_before_and_that_is_withdrawn(engine, neighbours):
    who, caught = neighbours.owner.who, local(25, 22, 40)
    ended = Told(end="caught", end_at=caught)
    plan(engine, who, ended, body(NOW), caught)
    before = record(BROOD, "brood", "ada", ended="caught")
    later = caught + timedelta(days=9)
    plan(engine, who, Told(id_="b2", earlier=(before,)), body(later), later)
    with reading(engine) as db:
        asked = db.execute(sa.select(tables.recompute.c.brood_id)).scalars().all()
    assert asked == [BROOD]
    plan(engine, who, replace(ended, earlier=(record("b2", "brood", "ada"),)), body(later), later)
    assert not any(afterwards(engine)[kind] for kind in ("condition", "rest"))
    # Once they are withdrawn nobody asks any more.
    with writing(engine) as db:
        db.execute(sa.delete(tables.recompute))
    plan(engine, who, Told(id_="b2", earlier=(before,)), body(later), later)
    with reading(engine) as db:
        assert db.execute(sa.select(tables.recompute)).all() == []


def test_one_that_ended_by_a_catch_is_not_under_way(engine, neighbours):
    who, caught = neighbours.owner.who, local(25, 22, 40)
    told = Told(end="lost", end_at=caught, earlier=(record("b0", "brood", "ada"),))
    told = replace(told, earlier_catches=(record("m0", "mark", "ada", about="b0", what="caught"),))
    assert [duty["kind"] for duty in plan(engine, who, told, body(NOW), caught)][0] == "part_pair"


def test_one_who_was_seen_to_eat_is_not_asked_about(engine, neighbours):
    who, caught = neighbours.owner.who, local(25, 22, 40)
    ate = record("l9", "look", "ada", at="2026-11-27T10:00:00Z", light="daylight", food="ate")
    told = Told(end="caught", end_at=caught, looks=(ate,))
    shown = {duty["kind"]: duty for duty in plan(engine, who, told, body(NOW), caught + timedelta(days=2))}
    assert shown["eating_again"]["done_at"] == "2026-11-27T10:00:00.000Z"


def test_a_brood_that_was_a_mistake_gives_back_what_was_owed_after_the_one_before(engine, neighbours):
    who, caught = neighbours.owner.who, local(25, 22, 40)
    ended, later = Told(end="caught", end_at=caught), caught + timedelta(days=9)
    before = record(BROOD, "brood", "ada", ended="caught")
    wrong = record("b2", "brood", "ada", at=instant_text(later))
    plan(engine, who, ended, body(NOW), caught)
    plan(engine, who, replace(ended, earlier=(wrong,)), body(later), later)
    assert not afterwards(engine)["rest"]
    plan(engine, who, Told(id_="b2", earlier=(before,), gone=True), body(later), later)
    with reading(engine) as db:
        assert db.scalars(sa.select(tables.recompute.c.brood_id)).all() == [BROOD]
    taken_back = record("b2", "brood", "ada", at=instant_text(later), gone=True)
    plan(engine, who, replace(ended, earlier=(taken_back,)), body(later), later)
    assert afterwards(engine)["rest"]


def test_an_older_brood_that_nobody_closed_takes_nothing_away(engine, neighbours):
    who, caught = neighbours.owner.who, local(25, 22, 40)
    older = record("b0", "brood", "ada", at=instant_text(caught - timedelta(days=90)))
    shown = plan(engine, who, Told(end="lost", end_at=caught, earlier=(older,)), body(NOW), caught)
    assert "rest_over" in {duty["kind"] for duty in shown}
