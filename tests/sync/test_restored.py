"""The server is set back to an older copy while phones go on: in the end all copies are equal, nothing is missing."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import pytest
import sqlalchemy as sa

from holdwatch.records.merge import canonical
from holdwatch.services import access
from holdwatch.services.derived import derived_body
from holdwatch.store import tables
from holdwatch.store.database import reading, writing
from people import Neighbours, settle
from sync.client_phone import Node, running_node
from sync.home import Hand, Home, Refused
from sync.pushing import rows

COPIED = ("kind", "author", "device", "fields")


@pytest.fixture(scope="module")
def node() -> Iterator[Node]:
    with running_node() as node:
        yield node


@pytest.fixture
def people(engine: sa.Engine, password_hash: str) -> Neighbours:
    """People whose sessions began by the real clock."""
    with writing(engine) as db:
        return settle(db, password_hash, datetime.now(UTC))


@pytest.fixture
def home(engine, people, tmp_path, node) -> Home:
    """The owner and the helper with phones of the client's, the keeper with one of the model's."""
    home = Home(engine, tmp_path / "server.log")
    for role in ("owner", "keeper", "helper"):
        home.hand(role, role, getattr(people, role).who, node if role != "keeper" else None)
    return home


def come_in(home: Home) -> None:
    for hand in home.hands.values():
        hand.sign_in()


def server_rows(home: Home) -> dict[str, dict[str, Any]]:
    held = rows(home.engine, home.hands["owner"].who)
    home.engine.dispose()
    return json.loads(json.dumps(held))


def past(home: Home) -> set[tuple[str, str, str, str, str]]:
    """(record, field, stamp, value, author) of all that was replaced."""
    history = tables.history
    with reading(home.engine) as db:
        mine = sa.select(history).where(history.c.household_id == home.hands["owner"].who.household_id)
        found = db.execute(mine).all()
    home.engine.dispose()
    return {(row.record_id, row.field, row.stamp, row.value, row.author) for row in found}


def copies_are_equal(home: Home) -> None:
    theirs = server_rows(home)
    for name, hand in home.hands.items():
        mine = hand.phone.hold()
        assert hand.phone.attention() == [], name
        assert {record: {key: row[key] for key in COPIED} for record, row in mine.items()} == {
            record: {key: row[key] for key in COPIED} for record, row in theirs.items()
        }, name
        assert {row["waiting"] for row in mine.values()} <= {0}, name


def said(hand: Hand, record: str, name: str, value: Any) -> tuple[str, str, Any]:
    hand.phone.edit(record, {name: value})
    return record, name, value


def is_there(home: Home, writes: list[tuple[str, str, Any]]) -> None:
    """Each of these values stands or was replaced."""
    theirs = server_rows(home)
    fields = ((record, name, field) for record, row in theirs.items() for name, field in row["fields"].items())
    standing = {(record, name, canonical(field["value"])) for record, name, field in fields}
    replaced = {(record, name, value) for record, name, _, value, _ in past(home)}
    missing = {(record, name, canonical(value)) for record, name, value in writes} - standing - replaced
    assert missing == set()


def before_the_copy(home: Home) -> tuple[dict[str, str], list[tuple[str, str, Any]]]:
    """A tank of the owner's and a look of each, on all phones."""
    made = {"tank": home.hands["owner"].phone.write("tank", {"name": "Bay", "zone": "Europe/Copenhagen"})}
    for role, hand in home.hands.items():
        made[role] = hand.phone.write("look", {"about": made["tank"], "note": f"first of {role}", "mouth": "full"})
    home.all_agree()
    writes = [said(home.hands["keeper"], made["owner"], "note", "corrected before the copy")]
    home.all_agree()
    return made, [*writes, (made["owner"], "note", "first of owner")]


def after_the_copy(home: Home, made: dict[str, str]) -> list[tuple[str, str, Any]]:
    """Each writes, corrects what others wrote, and one thing is taken away; the last words go up to nobody."""
    owner, keeper, helper = home.hands.values()
    writes = []
    for role, hand in home.hands.items():
        fed = {"about": made["tank"], "note": f"fed by {role}", "took": "ate"}
        made[f"new {role}"] = hand.phone.write("feeding", fed)
        writes.append((made[f"new {role}"], "note", f"fed by {role}"))
    home.all_agree()
    writes += [said(owner, made["tank"], "name", "Cove"), said(helper, made["new owner"], "note", "it was shrimp")]
    home.all_agree()
    writes += [said(keeper, made["tank"], "name", "Creek"), said(keeper, made["helper"], "gone", True)]
    home.all_agree()
    for role, hand in home.hands.items():
        unsent = hand.phone.write("look", {"about": made["tank"], "note": f"unsent by {role}"})
        writes += [(unsent, "note", f"unsent by {role}"), said(hand, made[f"new {role}"], "note", f"unsent of {role}")]
    return writes


def replaced(made: dict[str, str]) -> list[tuple[str, str, Any]]:
    """What somebody wrote after the copy, and another has replaced since: no phone holds it any more."""
    return [(made["tank"], "name", "Cove"), (made["new owner"], "note", "fed by owner")]


def less_replaced(writes: list[tuple[str, str, Any]], made: dict[str, str]) -> list[tuple[str, str, Any]]:
    """What can still be there when the disk is gone."""
    return [write for write in writes if write not in replaced(made)]


@pytest.mark.parametrize("stands", [True, False])
def test_what_was_written_since_the_copy_comes_back_from_the_phones(home: Home, tmp_path, stands: bool):
    owner, keeper, helper = home.hands.values()
    with home.serve():
        come_in(home)
        made, writes = before_the_copy(home)
        home.command("backup", tmp_path / "tuesday")
        writes += after_the_copy(home, made)
    history = past(home)
    if not stands:
        home.database.unlink()
        writes = less_replaced(writes, made)
    printed = home.command("restore", tmp_path / "tuesday")
    assert "Ilka, owner of Reedmarsh Lane" in printed and "Everybody has to sign in again" in printed
    assert made["new keeper"] not in server_rows(home)
    with home.serve():
        for hand in home.hands.values():
            with pytest.raises(Refused, match="401 signed_out"):
                hand.round_trip()
        come_in(home)
        home.all_agree()
    copies_are_equal(home)
    is_there(home, writes)
    # Whoever was the author of what was replaced is its author still.
    there = {(record, name, value) for record, name, _, value, _ in history - past(home)}
    assert there == (set() if stands else {(record, name, canonical(value)) for record, name, value in replaced(made)})
    theirs = server_rows(home)
    assert theirs[made["helper"]]["fields"]["gone"]["value"] is True
    # The owner was the first to come: what the others had written was brought back by her.
    assert {theirs[made[f"new {role}"]].get("brought_by") for role in ("keeper", "helper")} == {owner.who.person_id}
    assert theirs[made["new keeper"]]["author"] == keeper.who.person_id
    assert "brought_by" not in theirs[made["new owner"]]
    told = owner.phone._ask("agreement")["value"]
    assert told["set_back"]["brought"] > 0 and told["set_back"]["epoch"] == told["epoch"]
    with reading(home.engine) as db:
        assert derived_body(db, owner.who.household_id, "set_back", None)["ends_at"] is not None
    home.engine.dispose()


def test_a_phone_that_comes_weeks_later_brings_what_only_it_has_and_undoes_nothing(home: Home, tmp_path):
    owner, keeper, helper = home.hands.values()
    with home.serve():
        come_in(home)
        made, writes = before_the_copy(home)
        home.command("backup", tmp_path / "tuesday")
        alone = helper.phone.write("look", {"about": made["tank"], "note": "only mine"})
        writes += [(alone, "note", "only mine"), said(helper, made["keeper"], "note", "of the helper's")]
        helper.agree()
        # Nobody else was there since; then the disk goes.
    home.database.unlink()
    home.command("restore", tmp_path / "tuesday")
    with home.serve():
        for name in ("owner", "keeper"):
            home.hands[name].sign_in()
        home.all_agree(["owner", "keeper"])
        assert alone not in owner.phone.hold()
        writes.append(said(keeper, made["keeper"], "note", "weeks of going on"))
        for number in range(30):
            new = keeper.phone.write("feeding", {"about": made["tank"], "note": f"fed {number}"})
            writes.append((new, "note", f"fed {number}"))
        home.all_agree(["owner", "keeper"])
        with pytest.raises(Refused, match="401 signed_out"):
            helper.round_trip()
        unsent = helper.phone.write("look", {"about": made["tank"], "note": "and while signed out"})
        writes.append((unsent, "note", "and while signed out"))
        helper.sign_in()
        home.all_agree()
    copies_are_equal(home)
    is_there(home, writes)
    theirs = server_rows(home)
    assert theirs[made["keeper"]]["fields"]["note"]["value"] == "weeks of going on"
    # Of the two the other was replaced meanwhile: it is kept, and nobody is told that it was brought back.
    assert helper.phone._ask("agreement")["value"]["set_back"]["brought"] == 1


@pytest.mark.parametrize("stands", [True, False])
def test_set_back_twice_while_one_phone_is_half_through_and_another_missed_it(home: Home, tmp_path, stands: bool):
    owner, keeper, helper = home.hands.values()
    with home.serve():
        come_in(home)
        made, writes = before_the_copy(home)
        home.command("backup", tmp_path / "tuesday")
        writes += after_the_copy(home, made)
    for number in range(2):
        if not stands:
            home.database.unlink()
            # The second time even what the first restore said of itself is lost.
            writes = less_replaced(writes, made)
        home.command("restore", tmp_path / "tuesday")
        with home.serve():
            owner.sign_in()
            keeper.sign_in()
            if number == 0:
                owner.agree()
                keeper.round_trip()
                keeper.round_trip(limit=1)
                keeper.round_trip(limit=1)
                between = owner.phone.write("look", {"about": made["tank"], "note": "between the two"})
                writes.append((between, "note", "between the two"))
                owner.agree()
            else:
                helper.sign_in()
                home.all_agree()
    copies_are_equal(home)
    is_there(home, writes)
    assert owner.phone._ask("agreement")["value"]["bringing"] is None and keeper.phone.bringing is None


def test_who_was_removed_since_the_copy_stays_out_and_what_he_wrote_comes_back_under_his_name(home: Home, tmp_path):
    owner, keeper, helper = home.hands.values()
    with home.serve():
        come_in(home)
        made, writes = before_the_copy(home)
        home.command("backup", tmp_path / "tuesday")
        writes += after_the_copy(home, made)
        owner.ask("DELETE", f"/api/v1/people/{keeper.who.person_id}")
        with pytest.raises(Refused, match="401 no_longer_member: You are no longer in the household Reedmarsh Lane"):
            keeper.round_trip()
    printed = home.command("restore", tmp_path / "tuesday")
    assert "Tamsin" not in printed
    with home.serve():
        with pytest.raises(Refused, match="401 no_longer_member"):
            keeper.round_trip()
        with pytest.raises(Refused, match="401 wrong_login"):
            keeper.sign_in()
        for name in ("owner", "helper"):
            home.hands[name].sign_in()
        home.all_agree(["owner", "helper"])
        theirs = server_rows(home)
        assert theirs[made["new keeper"]]["author"] == keeper.who.person_id
        # What he had not sent waits on his phone until he is asked to come back.
        again = {"name": "Tamsin", "role": "keeper", "person": keeper.who.person_id}
        token = owner.ask("POST", "/api/v1/invitations", again)["link_path"].partition("#")[2]
        sent = {"token": token, "login": "tamsin", "password": "red lamp on the shelf", "device": keeper.device}
        _, cookies = home.ask("POST", "/api/v1/join", sent)
        keeper.cookie = f"holdwatch={cookies['holdwatch'].value}"
        home.all_agree()
    copies_are_equal(home)
    is_there(home, writes)


def test_where_all_is_lost_but_the_copy_who_was_removed_is_named_to_whoever_restores(home: Home, tmp_path, people):
    with home.serve():
        come_in(home)
        before_the_copy(home)
        home.command("backup", tmp_path / "tuesday")
        home.hands["owner"].ask("DELETE", f"/api/v1/people/{people.keeper.who.person_id}")
    home.database.unlink()
    printed = home.command("restore", tmp_path / "tuesday")
    assert "remove in Household whoever should not" in printed and "Tamsin, keeper of Reedmarsh Lane" in printed
    with home.serve(), reading(home.engine) as db:
        for opened in vars(people).values():
            with pytest.raises(access.SignedOut):
                access.whoever(db, opened.cookie_value, datetime.now(UTC))


def test_a_server_that_runs_keeps_its_database(home: Home, tmp_path):
    with home.serve():
        come_in(home)
        made, _ = before_the_copy(home)
        home.command("backup", tmp_path / "tuesday")
        with pytest.raises(AssertionError, match="is in use. Stop what uses it first"):
            home.command("restore", tmp_path / "tuesday")
        home.hands["owner"].agree()
    assert made["tank"] in server_rows(home)
