"""A phone that is signed in stays so until it is signed out, removed, or silent for too long."""

from __future__ import annotations

import pytest
import sqlalchemy as sa

from holdwatch.services import access
from holdwatch.services.access.tokens import parse_token
from holdwatch.store.database import reading, writing
from holdwatch.store.tables import derived, device_session, person, push_subscription
from people import Neighbours


def test_a_cookie_names_its_person_for_a_year_and_more(engine, clock, neighbours: Neighbours):
    with reading(engine) as db:
        assert access.whoever(db, neighbours.helper.cookie_value, clock.move(days=399)) == neighbours.helper.who


def test_a_phone_silent_for_over_400_days_is_signed_out(engine, clock, neighbours: Neighbours):
    with reading(engine) as db, pytest.raises(access.SignedOut):
        access.whoever(db, neighbours.helper.cookie_value, clock.move(days=401))


def test_a_sign_of_life_keeps_the_session_alive(engine, clock, neighbours: Neighbours):
    assert not access.seen_long_ago(neighbours.helper.who, clock.move(minutes=60))
    assert access.seen_long_ago(neighbours.helper.who, clock.move(days=300))
    with writing(engine) as db:
        access.note_seen(db, neighbours.helper.who, clock.now())
    with reading(engine) as db:
        access.whoever(db, neighbours.helper.cookie_value, clock.move(days=300))


def test_the_database_keeps_no_secret(engine, neighbours: Neighbours):
    with reading(engine) as db:
        kept = str(db.execute(sa.select(device_session)).all())
    for opened in vars(neighbours).values():
        token = parse_token(opened.cookie_value)
        assert token is not None
        assert token.secret not in kept


@pytest.mark.parametrize("cookie", [None, "", "x", "a.b.c", "é" * 40, "\x00", "\ud800", "." * 5000])
def test_what_is_no_cookie_of_ours_is_signed_out(engine, clock, neighbours, cookie):
    with reading(engine) as db, pytest.raises(access.SignedOut):
        access.whoever(db, cookie, clock.now())


def test_a_part_of_anothers_cookie_opens_nothing(engine, clock, neighbours: Neighbours):
    mine, theirs = (opened.cookie_value.split(".") for opened in (neighbours.stranger, neighbours.owner))
    mixed = [[theirs[0], *mine[1:]], [theirs[0], theirs[1], mine[2]], [mine[0], theirs[1], mine[2]]]
    for parts in mixed:
        with reading(engine) as db, pytest.raises(access.SignedOut):
            access.whoever(db, ".".join(parts), clock.now())


def test_a_session_that_a_restored_database_does_not_know_is_refused(engine, clock, neighbours: Neighbours):
    with writing(engine) as db:
        db.execute(sa.delete(device_session).where(device_session.c.session_id == neighbours.keeper.who.session_id))
    with reading(engine) as db, pytest.raises(access.SignedOut):
        access.whoever(db, neighbours.keeper.cookie_value, clock.now())


def test_a_phone_that_is_signed_out_hears_nothing_more(engine, clock, neighbours: Neighbours):
    who = neighbours.helper.who
    with writing(engine) as db:
        subscribe(db, who)
        access.close_session(db, who.household_id, who.session_id, clock.now())
    with reading(engine) as db:
        assert db.execute(sa.select(push_subscription)).all() == []
        with pytest.raises(access.SignedOut):
            access.whoever(db, neighbours.helper.cookie_value, clock.now())
        with pytest.raises(access.SignedOut):
            access.still_here(db, who)


def subscribe(db: sa.Connection, who: access.Who) -> None:
    row = {"endpoint": "https://push.example/1", "p256dh": "p", "auth": "a"}
    mine = {"household_id": who.household_id, "person_id": who.person_id, "session_id": who.session_id}
    db.execute(sa.insert(push_subscription).values(created_at=0, **row, **mine))


def test_a_removed_person_is_out_on_every_phone_and_may_be_invited_again(engine, clock, neighbours: Neighbours):
    helper = neighbours.helper.who
    with writing(engine) as db:
        phone = access.Phone("ab12cd34", "second phone")
        second = access.sessions.open_session(db, helper.household_id, helper.person_id, "helper", phone, clock.now())
        subscribe(db, helper)
        access.remove_person(db, neighbours.owner.who, helper.person_id, clock.now())
    with reading(engine) as db:
        for cookie in (neighbours.helper.cookie_value, second.cookie_value):
            with pytest.raises(access.SignedOut):
                access.whoever(db, cookie, clock.now())
        assert db.execute(sa.select(push_subscription)).all() == []
    with writing(engine) as db:
        invited = access.invite(db, neighbours.owner.who, "Joris", "keeper", clock.now())
        again = access.join(db, str(invited.token), "joris", "hash", access.Phone(None, ""), clock.now())
    assert again.who.person_id != helper.person_id


def test_the_list_of_people_comes_down_to_every_phone(engine, clock, neighbours: Neighbours):
    owner, helper = neighbours.owner.who, neighbours.helper.who
    mine = sa.select(derived).where(derived.c.household_id == owner.household_id, derived.c.kind == "people")
    with writing(engine) as db:
        before = db.execute(mine).one()
        access.remove_person(db, owner, helper.person_id, clock.now())
        after = db.execute(mine).one()
    assert after.revision > before.revision
    assert '"gone":true' in after.body and '"gone":true' not in before.body
    assert "Quarry" not in after.body and "Bram" not in after.body


def test_only_the_owner_removes_people_and_nobody_of_another_household(engine, clock, neighbours: Neighbours):
    helper = neighbours.helper.who
    with writing(engine) as db:
        with pytest.raises(access.NotAllowed):
            access.remove_person(db, neighbours.keeper.who, helper.person_id, clock.now())
        with pytest.raises(access.NotFound):
            access.remove_person(db, neighbours.stranger.who, helper.person_id, clock.now())
        with pytest.raises(access.NotAllowed):
            access.remove_person(db, neighbours.owner.who, neighbours.owner.who.person_id, clock.now())
        assert db.execute(sa.select(person).where(person.c.removed_at.is_not(None))).all() == []


def test_one_sees_ones_own_phones_and_the_owner_those_of_the_household(engine, neighbours: Neighbours):
    with reading(engine) as db:
        seen = {name: [row.name for row in access.devices(db, opened.who)] for name, opened in vars(neighbours).items()}
    assert sorted(seen.pop("owner")) == ["Ilka", "Joris", "Tamsin"]
    assert seen == {"keeper": ["Tamsin"], "helper": ["Joris"], "stranger": ["Bram"]}


def test_one_signs_out_ones_own_phone_the_owner_anybodys_and_no_one_else(engine, clock, neighbours: Neighbours):
    session_id = neighbours.helper.who.session_id
    for other in (neighbours.keeper.who, neighbours.stranger.who):
        with writing(engine) as db, pytest.raises(access.NotFound):
            access.revoke_device(db, other, session_id, clock.now())
    with writing(engine) as db:
        access.revoke_device(db, neighbours.owner.who, session_id, clock.now())
    with writing(engine) as db, pytest.raises(access.NotFound):
        access.revoke_device(db, neighbours.owner.who, session_id, clock.now())
