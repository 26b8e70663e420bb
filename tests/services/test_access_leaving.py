"""Who leaves is out at once, in whatever the server was doing for him; what he logged stays, and he may come back."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest
import sqlalchemy as sa

from domain.hold import local
from holdwatch.records.instants import milliseconds
from holdwatch.records.stamps import Stamp
from holdwatch.services import access, duties, photos
from holdwatch.services.access import NoLongerMember, SignedOut
from holdwatch.services.derived import derived_body
from holdwatch.services.photos import arriving
from holdwatch.services.photos.picture import Picture, picture_of
from holdwatch.store.database import reading, writing
from holdwatch.store.tables import invitation, person, photo, push_subscription, recompute
from people import Neighbours
from pictures import photo as a_photo
from services.photographs import send
from services.reminding import Told, body, plan, record
from sync.pushing import added, edited, push, rows, stamp, values

PHONE = access.Phone("ab12cd34", "a test")


def leave(engine, who, clock):
    with writing(engine) as db:
        access.remove_person(db, who, who.person_id, clock.now())


def people(engine, who):
    with reading(engine) as db:
        return derived_body(db, who.household_id, "people", None)["people"]


@pytest.mark.parametrize("name", ["keeper", "helper"])
def test_everybody_but_the_owner_may_leave_and_is_told_whom_to_ask(engine, clock, neighbours: Neighbours, name: str):
    opened = getattr(neighbours, name)
    leave(engine, opened.who, clock)
    with reading(engine) as db:
        with pytest.raises(NoLongerMember) as told:
            access.whoever(db, opened.cookie_value, clock.now())
        with pytest.raises(NoLongerMember):
            access.still_here(db, opened.who)
    assert "You are no longer in the household Reedmarsh Lane. To come back, ask Ilka for an" in str(told.value)
    assert [one["gone"] for one in people(engine, opened.who) if one["id"] == opened.who.person_id] == [True]


def test_the_owner_stays(engine, clock, neighbours: Neighbours):
    with pytest.raises(access.NotAllowed, match="The owner of a household cannot leave it"):
        leave(engine, neighbours.owner.who, clock)


def test_only_the_very_cookie_is_told_of_the_household(engine, clock, neighbours: Neighbours):
    leave(engine, neighbours.keeper.who, clock)
    with reading(engine) as db, pytest.raises(SignedOut) as told:
        access.whoever(db, neighbours.keeper.cookie_value[:-2] + "AA", clock.now())
    assert not isinstance(told.value, NoLongerMember)


def test_a_session_that_ended_while_its_person_is_here_says_nothing_of_leaving(engine, clock, neighbours: Neighbours):
    who = neighbours.keeper.who
    with writing(engine) as db:
        access.close_session(db, who.household_id, who.session_id, clock.now())
        with pytest.raises(SignedOut) as told:
            access.whoever(db, neighbours.keeper.cookie_value, clock.now())
    assert not isinstance(told.value, NoLongerMember)


def test_a_push_that_waits_while_he_is_removed_is_not_taken(engine, clock, neighbours: Neighbours):
    keeper, look = neighbours.keeper.who, added(neighbours.keeper.who, "look")
    outcome: list[Exception] = []

    def pushing():
        try:
            push(engine, keeper, [look])
        except SignedOut as told:
            outcome.append(told)

    waiting = threading.Thread(target=pushing)
    with writing(engine) as db:
        access.remove_person(db, neighbours.owner.who, keeper.person_id, clock.now())
        waiting.start()
        waiting.join(0.3)
    waiting.join(30)
    assert [type(told) for told in outcome] == [NoLongerMember]
    assert look["id"] not in rows(engine, neighbours.owner.who)


def test_a_photo_that_is_drawn_while_he_is_removed_is_not_kept(
    engine, clock, neighbours: Neighbours, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    helper, cabinet = neighbours.helper.who, photos.Cabinet(engine, photos.Shelf(tmp_path / "photos"), 100_000_000)

    def draw_and_leave(data: bytes) -> Picture:
        leave(engine, helper, clock)
        return picture_of(data)

    monkeypatch.setattr(arriving, "picture_of", draw_and_leave)
    with pytest.raises(SignedOut):
        send(cabinet, helper, a_photo(), clock.now())
    with reading(engine) as db:
        assert db.execute(sa.select(photo)).all() == []


def test_what_he_wrote_stays_and_bears_his_name(engine, clock, neighbours: Neighbours):
    keeper, look = neighbours.keeper.who, added(neighbours.keeper.who, "look")
    push(engine, keeper, [look])
    leave(engine, keeper, clock)
    (row,) = rows(engine, neighbours.owner.who).values()
    assert row["author"] == keeper.person_id
    assert {one["id"]: one["name"] for one in people(engine, keeper)}[keeper.person_id] == "Tamsin"


def test_nothing_is_pushed_to_his_phones_any_more(engine, clock, neighbours: Neighbours):
    endpoint = duties.Subscription("https://push.example/1", "key", "auth")
    with writing(engine) as db:
        duties.subscribe(db, neighbours.keeper.who, endpoint, clock.now())
    leave(engine, neighbours.keeper.who, clock)
    with reading(engine) as db:
        assert db.execute(sa.select(push_subscription)).all() == []


def taken_by(engine, who, now, *marks):
    """Who has tonight's catch, by these marks."""
    (catch,) = [one for one in plan(engine, who, Told(marks=marks), body(now), now) if one["kind"] == "catch_tonight"]
    return catch["taken_by"], catch["key"]


def test_a_duty_that_he_had_taken_is_anybodys_again_and_stays_so_when_he_comes_back(
    engine, clock, neighbours: Neighbours
):
    owner, keeper, helper = (getattr(neighbours, name).who for name in ("owner", "keeper", "helper"))
    now = local(25, 12)
    _, key = taken_by(engine, owner, now)
    his = record("m1", "mark", keeper.person_id, what="taken", duty=key)
    later = record("m2", "mark", helper.person_id, "1764061900000.0000.ab12cd34", what="taken", duty=key)
    assert taken_by(engine, owner, now, his, later)[0] == keeper.person_id
    clock.instant = now
    leave(engine, keeper, clock)
    with reading(engine) as db:
        assert len(db.execute(sa.select(recompute)).all()) == 1
    assert taken_by(engine, owner, now, his)[0] is None
    assert taken_by(engine, owner, now, his, later)[0] == helper.person_id
    come_back(engine, neighbours, clock)
    assert taken_by(engine, owner, now, his, later)[0] == helper.person_id
    afterwards = str(Stamp(milliseconds(now) + 1000, 0, "ab12cd34"))
    anew = record("m3", "mark", keeper.person_id, afterwards, what="taken", duty=key)
    assert taken_by(engine, owner, now, his, anew)[0] == keeper.person_id


def come_back(engine, neighbours, clock, login="tamsin again"):
    """The owner invites her again, and she joins."""
    owner, keeper = neighbours.owner.who, neighbours.keeper.who
    with writing(engine) as db:
        token = access.invite(db, owner, "Tamsin", "helper", clock.now(), keeper.person_id).token
        return access.join(db, str(token), login, "hash", PHONE, clock.now())


def test_who_comes_back_is_the_same_person_and_what_waited_on_the_phone_is_taken(engine, clock, neighbours: Neighbours):
    keeper = neighbours.keeper.who
    look = added(keeper, "look")
    push(engine, keeper, [look])
    leave(engine, keeper, clock)
    back = come_back(engine, neighbours, clock).who
    assert (back.person_id, back.role) == (keeper.person_id, "helper")
    waited = [added(keeper, "look", stamp(50)), edited(look, stamp(60), stamp(), note="after all")]
    assert {verdict.verdict for verdict in push(engine, back, waited).verdicts} == {"taken"}
    held = rows(engine, neighbours.owner.who)
    assert values(held[look["id"]])["note"] == "after all" and held[waited[0]["id"]]["author"] == keeper.person_id
    assert [one for one in people(engine, back) if one["id"] == back.person_id] == [
        {"id": back.person_id, "name": "Tamsin", "role": "helper", "gone": False}
    ]
    # The phone that he had before is not let in by that: its session was ended.
    with reading(engine) as db, pytest.raises(SignedOut) as told:
        access.whoever(db, neighbours.keeper.cookie_value, clock.now())
    assert not isinstance(told.value, NoLongerMember)


def test_a_second_link_to_come_back_by_does_not_outlive_another_leaving(engine, clock, neighbours: Neighbours):
    keeper = neighbours.keeper.who
    leave(engine, keeper, clock)
    with writing(engine) as db:
        second = access.invite(db, neighbours.owner.who, "Tamsin", "keeper", clock.now(), keeper.person_id).token
    back = come_back(engine, neighbours, clock).who
    with writing(engine) as db, pytest.raises(access.NotUsable, match="in the household already"):
        access.join(db, str(second), "twice", "hash", PHONE, clock.now())
    leave(engine, back, clock)
    with writing(engine) as db, pytest.raises(access.NotUsable, match="withdrawn"):
        access.join(db, str(second), "twice", "hash", PHONE, clock.now())


def test_nobody_is_invited_again_who_is_here_or_of_another_household(engine, clock, neighbours: Neighbours):
    owner = neighbours.owner.who
    with writing(engine) as db:
        with pytest.raises(access.NotUsable):
            access.invite(db, owner, "Tamsin", "keeper", clock.now(), neighbours.keeper.who.person_id)
        for stranger in (neighbours.stranger.who.person_id, "nobody"):
            with pytest.raises(access.NotFound):
                access.invite(db, owner, "Bram", "keeper", clock.now(), stranger)
        assert db.execute(sa.select(invitation).where(invitation.c.person_id.is_not(None))).all() == []


def test_a_login_that_is_taken_brings_nobody_back(engine, clock, neighbours: Neighbours):
    leave(engine, neighbours.keeper.who, clock)
    with pytest.raises(access.NotUsable, match="has this sign-in name already"):
        come_back(engine, neighbours, clock, login="joris")
    with reading(engine) as db:
        row = db.execute(sa.select(person).filter_by(person_id=neighbours.keeper.who.person_id)).one()
    assert row.removed_at is not None
