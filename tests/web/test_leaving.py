"""Leaving as a browser sees it: out at the next request, told by whom to come back, and back as the same person."""

from __future__ import annotations

import pytest
import sqlalchemy as sa
from flask import Flask

from holdwatch.services import access
from holdwatch.services.sync import agree
from holdwatch.store.database import writing
from holdwatch.web import sync as sync_door
from people import PASSWORD, Visitors, at_the_door
from sync.pushing import added, push

ASKED = {"schema": 2, "device": "ab12cd34", "cursor": 0, "epoch": None, "changes": []}
WORDS = "You are no longer in the household Reedmarsh Lane. To come back, ask Ilka for an invitation."


def synced(visitor, **more):
    return visitor.post("/api/v1/sync", ASKED | more)


def is_told(answer):
    error = answer.json["error"]
    return (answer.status_code, error["code"]) == (401, "no_longer_member") and error["message"].startswith(WORDS)


def path_of(visitor):
    return f"/api/v1/people/{visitor.who.person_id}"


@pytest.mark.parametrize("by", ["owner", "keeper"])
def test_who_leaves_or_is_removed_is_told_so_at_every_door(visitors: Visitors, by: str):
    assert getattr(visitors, by).delete(path_of(visitors.keeper)).status_code == 204
    look = added(visitors.keeper.who, "look")
    assert is_told(synced(visitors.keeper)) and is_told(synced(visitors.keeper, changes=[look]))
    assert is_told(visitors.keeper.get("/api/v1/me")) and is_told(visitors.keeper.get("/api/v1/devices"))
    assert synced(visitors.helper).json["rows"] == []


def test_a_helper_removes_nobody_but_himself(visitors: Visitors):
    for other in (visitors.keeper, visitors.owner):
        assert visitors.helper.delete(path_of(other)).status_code == 403
    assert visitors.owner.delete(path_of(visitors.owner)).status_code == 403
    assert visitors.helper.delete(path_of(visitors.helper)).status_code == 204


def test_a_long_pull_ends_with_the_page_before_he_was_removed(visitors: Visitors, engine, monkeypatch):
    push(engine, visitors.owner.who, [added(visitors.owner.who, "look") for _ in range(5)])

    def by_twos(*given):
        return agree(*given, page_rows=2)

    monkeypatch.setattr(sync_door, "agree", by_twos)
    first = synced(visitors.keeper).json
    assert first["more"] and len(first["rows"]) <= 2
    visitors.owner.delete(path_of(visitors.keeper))
    assert is_told(synced(visitors.keeper, cursor=first["cursor"]))


def test_who_is_removed_between_the_question_and_the_page_sees_none(
    visitors: Visitors, app: Flask, engine, clock, monkeypatch
):
    push(engine, visitors.owner.who, [added(visitors.owner.who, "look")])

    def removed_meanwhile(*given):
        with writing(engine) as db:
            access.remove_person(db, visitors.owner.who, visitors.keeper.who.person_id, clock.now())
            db.execute(sa.text("UPDATE record SET kind = 'written after he was removed'"))
        return agree(*given)

    monkeypatch.setattr(sync_door, "agree", removed_meanwhile)
    # He was in the household when he asked, and sees what it held then.
    assert [row["kind"] for row in synced(visitors.keeper).json["rows"]] == ["look"]
    assert is_told(synced(visitors.keeper))


def test_the_owner_invites_him_again_and_what_waited_on_his_phone_goes_up(visitors: Visitors, app: Flask):
    keeper = visitors.keeper.who
    waiting = added(keeper, "look")
    visitors.owner.delete(path_of(visitors.keeper))
    again = {"name": "Tamsin", "role": "keeper", "person": keeper.person_id}
    link = visitors.owner.post("/api/v1/invitations", again).json["link_path"]
    phone = at_the_door(app, visitors.keeper.opened)
    joined = phone.post("/api/v1/join", {"token": link.partition("#")[2], "login": "tamsin", "password": PASSWORD})
    assert (joined.status_code, joined.json["person"]["id"]) == (201, keeper.person_id)
    (verdict,) = synced(phone, changes=[waiting]).json["verdicts"]
    assert verdict["verdict"] == "taken"


def test_nobody_but_the_owner_invites_again_and_nobody_who_is_here(visitors: Visitors):
    again = {"name": "Tamsin", "role": "keeper", "person": visitors.keeper.who.person_id}
    assert visitors.owner.post("/api/v1/invitations", again).status_code == 409
    visitors.owner.delete(path_of(visitors.keeper))
    assert visitors.helper.post("/api/v1/invitations", again).status_code == 403
    assert visitors.stranger.post("/api/v1/invitations", again).status_code == 404
    assert visitors.owner.post("/api/v1/invitations", again | {"person": "no id"}).status_code == 422
