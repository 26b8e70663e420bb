"""Which forecasts a push makes out of date: every one that it bears on, and asked for without a gap."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pytest
import sqlalchemy as sa

from holdwatch.services.access import Who
from holdwatch.services.recomputing import ask_for_broods
from holdwatch.store import tables
from holdwatch.store.database import reading, writing
from people import START
from sync.pushing import added, edited, push, stamp, verdicts


@dataclass(frozen=True)
class Household:
    """A tank with two males: the first holds and has held before, the second holds."""

    engine: sa.Engine
    who: Who
    tank: dict[str, Any]
    first: dict[str, Any]
    second: dict[str, Any]
    ended: dict[str, Any]
    now: dict[str, Any]
    other: dict[str, Any]

    def asks_for(self, *changes):
        """The broods that these changes ask for."""
        with writing(self.engine) as db:
            db.execute(tables.recompute.delete())
        assert set(verdicts(self.engine, self.who, *changes)) == {"taken"}
        names = {brood["id"]: name for name, brood in vars(self).items() if isinstance(brood, dict)}
        return sorted(names[brood] for brood in asked(self.engine))


def asked(engine):
    with reading(engine) as db:
        return {row.brood_id: row.asked_at for row in db.execute(sa.select(tables.recompute))}


@pytest.fixture
def house(engine, neighbours):
    who = neighbours.keeper.who
    tank = added(who, "tank")
    first, second = (added(who, "fish", about=tank["id"]) for _ in range(2))
    ended = added(who, "brood", about=first["id"], ended="released")
    now, other = (added(who, "brood", about=fish["id"]) for fish in (first, second))
    push(engine, who, [tank, first, second, ended, now, other])
    return Household(engine, who, tank, first, second, ended, now, other)


@pytest.mark.parametrize("kind", ["look", "feeding", "mark"])
def test_what_is_about_a_brood_asks_for_that_brood(house, kind):
    assert house.asks_for(added(house.who, kind, about=house.now["id"])) == ["now"]


def test_a_reading_of_the_tank_asks_for_every_brood_under_way_in_it(house):
    assert house.asks_for(added(house.who, "reading", about=house.tank["id"], temperature_c=26)) == ["now", "other"]


def test_a_look_at_one_of_them_unsure_which_asks_for_all_of_them(house):
    assert house.asks_for(added(house.who, "look", about=house.tank["id"])) == ["now", "other"]


def test_new_lamp_times_ask_for_every_brood_under_way_in_the_tank(house):
    assert house.asks_for(edited(house.tank, stamp(5), None, lamps_out="21:30")) == ["now", "other"]


def test_what_is_learnt_of_a_male_asks_for_his_brood_alone(house):
    assert house.asks_for(edited(house.first, stamp(5), None, has_released_before=True)) == ["now"]
    assert house.asks_for(added(house.who, "feeding", about=house.second["id"], took="ate")) == ["other"]


def test_how_an_earlier_brood_ended_asks_for_the_one_under_way_too(house):
    assert house.asks_for(edited(house.ended, stamp(5), None, kept=20)) == ["ended", "now"]
    assert house.asks_for(added(house.who, "mark", about=house.ended["id"], what="caught")) == ["ended", "now"]


def test_a_look_moved_to_another_brood_asks_for_both(house):
    look = added(house.who, "look", about=house.now["id"])
    house.asks_for(look)
    assert house.asks_for(edited(look, stamp(5), stamp(0), about=house.other["id"])) == ["now", "other"]


def test_a_brood_that_comes_in_after_its_looks_is_asked_for(house):
    brood = added(house.who, "brood", about=house.first["id"])
    push(house.engine, house.who, [added(house.who, "look", about=brood["id"])])
    push(house.engine, house.who, [brood])
    assert brood["id"] in asked(house.engine)


def test_a_fish_that_comes_in_after_its_brood_asks_for_it(house):
    fish = added(house.who, "fish", about=house.tank["id"])
    brood = added(house.who, "brood", about=fish["id"])
    push(house.engine, house.who, [brood])
    with writing(house.engine) as db:
        db.execute(tables.recompute.delete())
    push(house.engine, house.who, [fish])
    assert set(asked(house.engine)) == {brood["id"]}


def test_a_change_that_changes_nothing_asks_for_nothing(house):
    look = added(house.who, "look", about=house.now["id"])
    house.asks_for(look)
    assert house.asks_for(look) == []


def test_asking_twice_in_one_millisecond_or_with_a_clock_that_stepped_back_is_asking_later(house):
    before = asked(house.engine)[house.now["id"]]
    for _ in range(2):
        with writing(house.engine) as db:
            ask_for_broods(db, [(house.who.household_id, house.now["id"])], START)
    assert asked(house.engine)[house.now["id"]] == before + 2


def test_the_answer_says_whether_forecasts_are_being_made_anew(house):
    assert push(house.engine, house.who, [added(house.who, "look", about=house.now["id"])]).recomputing
    with writing(house.engine) as db:
        db.execute(tables.recompute.delete())
    assert not push(house.engine, house.who, [added(house.who, "tank")]).recomputing
