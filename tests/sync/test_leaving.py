"""Somebody is removed while his phone is agreeing with the real server: out at once, and back with all that waited."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime

import pytest
import sqlalchemy as sa

from holdwatch.services.sync.page import PAGE_ROWS
from holdwatch.store.database import writing
from people import PASSWORD, settle
from sync.client_phone import Node, running_node
from sync.home import Hand, Home, Refused
from sync.pushing import added, push, rows, stamp

OUT = "401 no_longer_member: You are no longer in the household Reedmarsh Lane. To come back, ask Ilka"


@pytest.fixture(scope="module")
def node() -> Iterator[Node]:
    with running_node() as node:
        yield node


@pytest.fixture(params=["model", "client"])
def home(request, engine: sa.Engine, password_hash: str, tmp_path, node: Node) -> Home:
    """The owner, and a keeper with a phone of either make."""
    with writing(engine) as db:
        people = settle(db, password_hash, datetime.now(UTC))
    home = Home(engine, tmp_path / "server.log")
    home.hand("owner", "owner", people.owner.who, node)
    home.hand("keeper", "keeper", people.keeper.who, node if request.param == "client" else None)
    return home


def remove(home: Home, by: str) -> None:
    home.hands[by].ask("DELETE", f"/api/v1/people/{home.hands['keeper'].who.person_id}")


def come_back(home: Home) -> Hand:
    """The owner invites him again as who he was, and he joins on the same phone."""
    owner, keeper = home.hands.values()
    again = {"name": "Tamsin", "role": "helper", "person": keeper.who.person_id}
    token = owner.ask("POST", "/api/v1/invitations", again)["link_path"].partition("#")[2]
    joining = {"token": token, "login": "tamsin", "password": PASSWORD, "device": keeper.device}
    me, cookies = home.ask("POST", "/api/v1/join", joining)
    assert me["person"]["id"] == keeper.who.person_id
    keeper.cookie = f"holdwatch={cookies['holdwatch'].value}"
    return keeper


def test_removed_in_the_middle_of_a_long_pull_he_keeps_what_came_and_gets_no_page_more(home: Home):
    owner, keeper = home.hands.values()
    push(home.engine, owner.who, [added(owner.who, "look", stamp(n)) for n in range(PAGE_ROWS + 200)])
    with home.serve():
        owner.sign_in()
        keeper.sign_in()
        _, first = keeper.round_trip(asking=True)
        assert first["more"] and len(keeper.phone.hold()) <= PAGE_ROWS
        had = set(keeper.phone.hold())
        remove(home, "owner")
        for _ in range(2):
            with pytest.raises(Refused, match=OUT):
                keeper.round_trip()
        assert set(keeper.phone.hold()) == had


@pytest.mark.parametrize("by", ["owner", "keeper"])
def test_who_leaves_in_the_middle_of_sending_is_out_and_comes_back_with_all_that_waited(home: Home, by: str):
    owner, keeper = home.hands.values()
    with home.serve():
        owner.sign_in()
        keeper.sign_in()
        tank = owner.phone.write("tank", {"name": "Bay"})
        owner.agree()
        keeper.agree()
        made = [keeper.phone.write("look", {"about": tank, "note": f"look {number}"}) for number in range(9)]
        keeper.round_trip(limit=3)
        remove(home, by)
        with pytest.raises(Refused, match=OUT):
            keeper.round_trip(limit=3)
        later = keeper.phone.write("look", {"about": tank, "note": "while out"})
        keeper.phone.edit(made[0], {"note": "corrected while out"})
        owner.agree()
        theirs = {record for record, row in owner.phone.hold().items() if row["author"] == keeper.who.person_id}
        assert 0 < len(theirs) <= 3
        come_back(home).agree()
        owner.agree()
    there = rows(home.engine, owner.who)
    home.engine.dispose()
    assert set(there) == {tank, later, *made} == set(keeper.phone.hold()) == set(owner.phone.hold())
    assert {there[record]["author"] for record in (later, *made)} == {keeper.who.person_id}
    assert there[made[0]]["fields"]["note"]["value"] == "corrected while out"
    assert keeper.phone.attention() == []
