"""Setup codes and invitations: each opens the door once, and only for a while."""

from __future__ import annotations

import threading

import pytest
import sqlalchemy as sa

from holdwatch.services import access
from holdwatch.store.database import reading, writing
from holdwatch.store.tables import household, invitation, person, setup_code
from people import Neighbours, found

PHONE = access.Phone("ab12cd34", "a test")
FOUNDING = access.Founding("Reedmarsh Lane", "Ilka", "ilka", "hash")


def test_a_setup_code_founds_one_household_and_is_kept_as_a_hash(engine, clock):
    with writing(engine) as db:
        code = access.new_setup_code(db, clock.now())
        assert code not in str(db.execute(sa.select(setup_code)).all())
        opened = access.found_household(db, code, FOUNDING, True, PHONE, clock.now())
    assert (opened.who.role, opened.who.device) == ("owner", "ab12cd34")
    with writing(engine) as db, pytest.raises(access.NotUsable):
        access.found_household(db, code, FOUNDING, True, PHONE, clock.now())


def test_a_setup_code_is_good_for_an_hour(engine, clock):
    with writing(engine) as db:
        code = access.new_setup_code(db, clock.now())
        access.check_setup_code(db, code, True, clock.move(minutes=59, seconds=59))
        with pytest.raises(access.NotUsable):
            access.check_setup_code(db, code, True, clock.move(seconds=1))
        access.new_setup_code(db, clock.move(seconds=1))
        assert len(db.execute(sa.select(setup_code)).all()) == 1


def test_the_first_household_is_founded_on_the_servers_own_machine(engine, clock):
    with writing(engine) as db:
        code = access.new_setup_code(db, clock.now())
        with pytest.raises(access.NotAllowed):
            access.found_household(db, code, FOUNDING, False, PHONE, clock.now())
        assert not access.has_owner(db)
        access.found_household(db, code, FOUNDING, True, PHONE, clock.now())
        assert access.has_owner(db)


def test_once_there_is_an_owner_a_further_code_works_from_elsewhere(engine, clock, neighbours):
    with writing(engine) as db:
        code = access.new_setup_code(db, clock.now())
        access.found_household(db, code, FOUNDING, False, PHONE, clock.now())


def test_a_guessed_code_founds_nothing(engine, clock):
    with writing(engine) as db:
        access.new_setup_code(db, clock.now())
        for code in ("", "x", "\x00", "é"):
            with pytest.raises(access.NotUsable):
                access.found_household(db, code, FOUNDING, True, PHONE, clock.now())
        assert db.execute(sa.select(household)).all() == []


def test_looking_at_an_invitation_does_not_spend_it_and_joining_does(engine, clock, neighbours: Neighbours):
    with writing(engine) as db:
        token = str(access.invite(db, neighbours.owner.who, "Wim", "helper", clock.now()).token)
        assert token.split(".")[2] not in str(db.execute(sa.select(invitation)).all())
        for _ in range(2):
            assert access.invitation_for(db, token, clock.now()).name == "Wim"
        joined = access.join(db, token, "wim", "hash", PHONE, clock.now())
    assert (joined.who.household_id, joined.who.role) == (neighbours.owner.who.household_id, "helper")
    with writing(engine) as db, pytest.raises(access.NotUsable):
        access.join(db, token, "wim2", "hash", PHONE, clock.now())


def test_an_invitation_is_good_for_48_hours(engine, clock, neighbours: Neighbours):
    with writing(engine) as db:
        token = str(access.invite(db, neighbours.owner.who, "Wim", "helper", clock.now()).token)
        access.invitation_for(db, token, clock.move(hours=47, minutes=59))
        with pytest.raises(access.NotUsable):
            access.invitation_for(db, token, clock.move(minutes=1))
        assert access.open_invitations(db, neighbours.owner.who, clock.now()) == []


def test_only_the_owner_invites_lists_and_withdraws(engine, clock, neighbours: Neighbours):
    with writing(engine) as db:
        invited = access.invite(db, neighbours.owner.who, "Wim", "helper", clock.now())
        for who in (neighbours.keeper.who, neighbours.helper.who):
            with pytest.raises(access.NotAllowed):
                access.invite(db, who, "Eva", "keeper", clock.now())
            with pytest.raises(access.NotAllowed):
                access.open_invitations(db, who, clock.now())
            with pytest.raises(access.NotAllowed):
                access.withdraw_invitation(db, who, invited.id, clock.now())
        with pytest.raises(access.NotFound):
            access.withdraw_invitation(db, neighbours.stranger.who, invited.id, clock.now())
        access.withdraw_invitation(db, neighbours.owner.who, invited.id, clock.now())
        with pytest.raises(access.NotUsable):
            access.invitation_for(db, str(invited.token), clock.now())


def test_nobody_is_invited_as_owner(engine, clock, neighbours: Neighbours):
    with writing(engine) as db, pytest.raises(ValueError, match="owner"):
        access.invite(db, neighbours.owner.who, "Eva", "owner", clock.now())


def test_an_invitation_with_another_secret_or_household_is_none(engine, clock, neighbours: Neighbours):
    with writing(engine) as db:
        parts = str(access.invite(db, neighbours.owner.who, "Wim", "helper", clock.now()).token).split(".")
        elsewhere = neighbours.stranger.who.household_id
        for wrong in ([*parts[:2], "A" * 43], [elsewhere, *parts[1:]], parts[:2], ["\ud800"]):
            with pytest.raises(access.NotFound):
                access.invitation_for(db, ".".join(wrong), clock.now())


def test_a_login_that_is_taken_leaves_the_invitation_unspent(engine, clock, neighbours: Neighbours):
    with writing(engine) as db:
        token = str(access.invite(db, neighbours.owner.who, "Wim", "helper", clock.now()).token)
    with pytest.raises(access.NotUsable) as problem, writing(engine) as db:
        access.join(db, token, "BRAM@quarry.example", "hash", PHONE, clock.now())
    assert problem.value.where is not None and set(problem.value.where) == {"login"}
    with writing(engine) as db:
        access.join(db, token, "wim", "hash", PHONE, clock.now())


def test_of_many_who_join_at_once_by_one_link_one_comes_in(engine, clock, neighbours: Neighbours):
    with writing(engine) as db:
        token = str(access.invite(db, neighbours.owner.who, "Wim", "helper", clock.now()).token)
    outcomes = []

    def try_to_join(number: int) -> None:
        try:
            with writing(engine) as db:
                access.join(db, token, f"wim-{number}", "hash", PHONE, clock.now())
            outcomes.append("in")
        except access.NotUsable:
            outcomes.append("out")

    threads = [threading.Thread(target=try_to_join, args=(number,)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(outcomes) == ["in"] + ["out"] * 7
    with reading(engine) as db:
        assert len(db.execute(sa.select(person).where(person.c.name == "Wim")).all()) == 1


def test_households_are_founded_side_by_side(engine, clock):
    with writing(engine) as db:
        owners = [found(db, f"House {n}", "Ilka", f"ilka-{n}", "hash", clock.now()).who for n in range(2)]
    assert owners[0].household_id != owners[1].household_id
