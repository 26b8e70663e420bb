"""The example household is loaded through the services that people use, and its forecast is computed."""

import json
from datetime import timedelta

import pytest
import sqlalchemy as sa

from holdwatch.config import Settings
from holdwatch.example import Settled, load_example
from holdwatch.example import household as ours
from holdwatch.services.derived import derived_body
from holdwatch.store.database import reading
from holdwatch.store.tables import device_session, duty, person, recompute, record
from people import Clock, Neighbours


@pytest.fixture
def loaded(engine: sa.Engine, settings: Settings, clock: Clock) -> sa.Engine:
    load_example(settings, clock.now())
    return engine


def _all(engine: sa.Engine, kind: str) -> list[dict]:
    with reading(engine) as db:
        rows = db.execute(sa.select(record).where(record.c.kind == kind).order_by(record.c.id)).all()
    return [{"id": row.id, "about": row.about, **json.loads(row.fields)} for row in rows]


def test_two_tanks_three_males_and_one_brood_under_way_among_several(loaded: sa.Engine):
    assert [len(_all(loaded, kind)) for kind in ("tank", "fish", "brood")] == [2, 3, 5]
    assert [brood.get("ended") for brood in _all(loaded, "brood")].count(None) == 1


def test_nothing_in_it_lies_in_the_future(loaded: sa.Engine, clock: Clock):
    with reading(loaded) as db:
        latest = db.scalar(sa.select(sa.func.max(record.c.at)))
    assert latest < clock.now().isoformat()


def test_the_brood_under_way_has_a_computed_night_to_catch(loaded: sa.Engine, clock: Clock):
    brood = next(brood for brood in _all(loaded, "brood") if not brood.get("ended"))
    with reading(loaded) as db:
        (household_id,) = db.scalars(sa.select(person.c.household_id).distinct())
        body = derived_body(db, household_id, "forecast", brood["id"])
    assert body["points"] >= 8192
    assert body["catch"]["night"] > clock.now().date().isoformat()
    assert 0.4 < body["catch"]["saved"] < 0.95
    # Day 18 of the hold: hatching is about now (Vagelli 1999: about 19 d).
    assert abs(sum(body["now"].values()) - 1) < 1e-9
    assert body["now"]["eyed"] + body["now"]["held_young"] > 0.8


def test_no_forecast_is_left_waiting_and_duties_are_planned(loaded: sa.Engine):
    with reading(loaded) as db:
        assert db.scalar(sa.select(sa.func.count()).select_from(recompute)) == 0
        assert db.scalar(sa.select(sa.func.count()).select_from(duty)) > 0


def test_loading_again_changes_nothing(loaded: sa.Engine, settings: Settings, clock: Clock):
    before = _all(loaded, "look")
    clock.move(days=3)
    load_example(settings, clock.now())
    assert _all(loaded, "look") == before


def test_a_household_of_somebodys_own_is_left_alone(
    engine: sa.Engine, settings: Settings, neighbours: Neighbours, clock: Clock
):
    with pytest.raises(Settled, match="Nothing was loaded"):
        load_example(settings, clock.now())
    assert _all(engine, "tank") == []


def test_the_phone_that_wrote_it_is_signed_out(loaded: sa.Engine):
    with reading(loaded) as db:
        assert db.scalars(sa.select(device_session.c.revoked_at)).all().count(None) == 0


def test_whoever_started_it_is_told_how_to_come_in(engine: sa.Engine, settings: Settings, clock: Clock):
    told = load_example(settings, clock.now() + timedelta(0))
    assert ours.PASSWORD in told and all(someone.login in told for someone in ours.PEOPLE)
