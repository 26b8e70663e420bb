"""Where the database that a copy takes the place of is sound, what no phone holds goes on as it stood last."""

from __future__ import annotations

import numpy as np
import pytest
import sqlalchemy as sa

from holdwatch.records.instants import milliseconds
from holdwatch.services import access
from holdwatch.services.access import SignedOut, WrongLogin
from holdwatch.services.backup import back_up
from holdwatch.services.derived import derived_body
from holdwatch.services.restoring import restore
from holdwatch.services.temperature.keeping import keep_readings
from holdwatch.services.temperature.tokens import UnknownToken, make_token, revoke_token, sensor_of
from holdwatch.store import tables
from holdwatch.store.database import reading, writing
from people import PASSWORD, START, invite_in
from services.copied import set_back
from sync.pushing import added, edited, history, push, rows, stamp, values


def test_every_household_is_told_when_it_was_set_back_and_when_a_phone_was_heard_last(
    engine, settings, neighbours, copy, clock, afterwards
):
    set_back(engine, settings, copy, clock)
    with reading(afterwards) as db:
        for opened in (neighbours.owner, neighbours.stranger):
            told = derived_body(db, opened.who.household_id, "set_back", None)
            assert told == {"at": "2026-11-27T02:10:00.000Z", "ends_at": "2026-11-25T20:10:00.000Z"}


def test_nothing_that_was_handed_out_before_lets_anybody_in(engine, settings, neighbours, copy, clock, afterwards):
    with writing(engine) as db:
        invited = access.invite(db, neighbours.owner.who, "Wim", "helper", clock.now())
        (owner, _) = access.owners(db)
        recovery = access.new_recovery(db, owner, clock.now())
        code = access.new_setup_code(db, clock.now())
    copy.unlink()
    back_up(settings.database_url, copy)
    engine.dispose()
    restore(settings.database_url, copy, clock.move(minutes=1))
    with reading(afterwards) as db:
        for opened in vars(neighbours).values():
            with pytest.raises(SignedOut):
                access.whoever(db, opened.cookie_value, clock.now())
        with pytest.raises(access.NotUsable):
            access.invitation_for(db, str(invited.token), clock.now())
        with pytest.raises(access.NotFound):
            access.recovery_for(db, str(recovery), True, clock.now())
        with pytest.raises(access.NotUsable):
            access.check_setup_code(db, code, True, clock.now())


def test_who_left_or_joined_or_has_another_password_since_the_copy_is_as_he_stood_last(
    engine, settings, neighbours, copy, clock, afterwards
):
    with writing(engine) as db:
        access.remove_person(db, neighbours.owner.who, neighbours.keeper.who.person_id, clock.now())
        # The sign-in name of whoever left goes to somebody else.
        hashed = access.hash_password("a new one")
        newcomer = invite_in(db, neighbours.owner.who, "Tamsin", "helper", hashed, clock.now())
        mine = tables.person.c.person_id == neighbours.helper.who.person_id
        changed = access.hash_password("changed since then")
        db.execute(sa.update(tables.person).where(mine).values(password_hash=changed, role="keeper"))
    set_back(engine, settings, copy, clock)
    with writing(afterwards) as db:
        people = derived_body(db, neighbours.owner.who.household_id, "people", None)["people"]
        assert {(one["name"], one["role"], one["gone"]) for one in people} == {
            ("Ilka", "owner", False),
            ("Tamsin", "keeper", True),
            ("Joris", "keeper", False),
            ("Tamsin", "helper", False),
        }
        knocked = access.knock(db, "tamsin", "127.0.0.1", clock.now())
        access.check_password(knocked, "a new one")
        opened = access.sign_in(db, knocked, access.Phone(None, "a test"), clock.now())
        assert opened.who.person_id == newcomer.who.person_id
        with pytest.raises(WrongLogin):
            access.check_password(access.knock(db, "joris", "127.0.0.1", clock.now()), PASSWORD)


def test_a_household_that_was_founded_since_is_there_still(engine, settings, copy, clock, afterwards):
    with writing(engine) as db:
        code = access.new_setup_code(db, clock.now())
        founding = access.Founding("Mill House", "Nel", "nel", "hash")
        nel = access.found_household(db, code, founding, True, access.Phone(None, "a test"), clock.now()).who
    done = set_back(engine, settings, copy, clock)
    assert "Nel, owner of Mill House" in done.people
    with reading(afterwards) as db:
        assert derived_body(db, nel.household_id, "set_back", None)["ends_at"] is None
        assert [one["name"] for one in derived_body(db, nel.household_id, "people", None)["people"]] == ["Nel"]


def test_a_value_that_was_replaced_since_the_copy_is_kept_with_the_record_it_stood_in(
    engine, settings, neighbours, copy, clock, afterwards
):
    owner, keeper = neighbours.owner.who, neighbours.keeper.who
    copy.unlink()
    old, untouched = added(owner, "tank", name="Bay"), added(owner, "look")
    push(engine, owner, [old, untouched])
    back_up(settings.database_url, copy)
    new = added(keeper, "look", stamp(10), note="one")
    push(engine, owner, [edited(old, stamp(20), stamp(), name="Cove"), edited(untouched, stamp(20), stamp(), note="x")])
    push(engine, keeper, [new, edited(new, stamp(30), stamp(10), note="two")])
    push(engine, keeper, [edited(old, stamp(40), stamp(20), name="Creek")])
    only_written = added(keeper, "look", stamp(50))
    push(engine, keeper, [only_written])
    histories = {record["id"]: history(engine, record["id"]) for record in (old, new, untouched)}
    set_back(engine, settings, copy, clock)
    there = rows(afterwards, owner)
    assert values(there[old["id"]])["name"] == "Creek" and values(there[new["id"]])["note"] == "two"
    assert there[new["id"]]["author"] == keeper.person_id
    assert {record: history(afterwards, record) for record in histories} == histories
    # Phones hold it, and bring it back.
    assert only_written["id"] not in there
    revisions = [row["revision"] for row in there.values()]
    assert sorted(set(revisions)) == sorted(revisions)
    with reading(afterwards) as db:
        asked = sa.select(tables.household.c.revision).where(tables.household.c.household_id == owner.household_id)
        assert db.scalar(asked) >= max(revisions)


def test_temperatures_and_a_revoked_token_are_as_they_stood_last(
    engine, settings, neighbours, clock, tmp_path, afterwards
):
    owner = neighbours.owner.who
    tank = added(owner, "tank", name="Bay", zone="Europe/Copenhagen")
    push(engine, owner, [tank])
    at = milliseconds(START) + 60_000 * np.arange(5)
    with writing(engine) as db:
        keep_readings(db, owner.household_id, tank["id"], "sump", at[:2], np.array([26_000, 26_100]))
        token = make_token(db, owner, tank["id"], "sump", clock.now())
    back_up(settings.database_url, tmp_path / "copy")
    with writing(engine) as db:
        keep_readings(db, owner.household_id, tank["id"], "sump", at[2:], np.array([26_200, 26_300, 26_400]))
        revoke_token(db, owner, token.own_id, clock.now())
        hours = db.execute(sa.select(tables.temperature_hour)).all()
    set_back(engine, settings, tmp_path / "copy", clock)
    with writing(afterwards) as db:
        kept = db.execute(sa.select(tables.temperature_reading.c.at, tables.temperature_reading.c.millidegrees)).all()
        assert kept == list(zip(at, [26_000, 26_100, 26_200, 26_300, 26_400], strict=True))
        assert db.execute(sa.select(tables.temperature_hour)).all() == hours
        with pytest.raises(UnknownToken):
            sensor_of(db, str(token))


