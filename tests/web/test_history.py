"""The doors to what records were before: their shape, their pages, and who gets in."""

from __future__ import annotations

import pytest
import sqlalchemy as sa

from people import Visitors
from sync.pushing import added, edited, new_id, push, stamp


@pytest.fixture
def brood(engine: sa.Engine, visitors: Visitors) -> str:
    """A brood whose end was said twice."""
    owner = visitors.owner.who
    made = added(owner, "brood", stamp(0), ended="lost")
    push(engine, owner, [made, edited(made, stamp(5), stamp(0), ended="released")])
    return made["id"]


@pytest.mark.parametrize("kind", ["records", "broods"])
def test_everybody_of_the_household_may_see_who_wrote_what(visitors: Visitors, brood: str, kind):
    for visitor in (visitors.owner, visitors.keeper, visitors.helper):
        answer = visitor.get(f"/api/v1/{kind}/{brood}/history")
        assert answer.status_code == 200
        (record,) = answer.json["records"]
        assert (record["id"], record["kind"], answer.json["next"]) == (brood, "brood", None)
        (ended,) = record["fields"]
        (lost,) = ended["earlier"]
        assert (lost["value"], lost["name"], lost["apart"]) == ("lost", "Ilka", False)
        assert lost["at"] == "2026-11-25T18:10:00+00:00"
        assert (lost["replaced_by"]["value"], lost["replaced_by"]["stamp"]) == ("released", stamp(5))
        assert ended["stands"] == lost["replaced_by"]


@pytest.mark.parametrize("kind", ["records", "broods"])
def test_a_stranger_and_whoever_is_signed_out_learn_nothing(visitors: Visitors, brood: str, kind):
    assert visitors.stranger.get(f"/api/v1/{kind}/{brood}/history").status_code == 404
    assert visitors.signed_out.get(f"/api/v1/{kind}/{brood}/history").status_code == 401
    assert visitors.owner.get(f"/api/v1/{kind}/{new_id()}/history").status_code == 404


@pytest.mark.parametrize("first", ["-1", "many", "99999999999999999999"])
def test_a_page_that_cannot_be_is_said_in_words(visitors: Visitors, brood: str, first):
    answer = visitors.owner.get(f"/api/v1/records/{brood}/history?first={first}")
    assert (answer.status_code, answer.json["error"]["code"]) == (422, "invalid")
    assert "first" in answer.json["error"]["where"]


def test_a_page_beyond_the_end_is_empty(visitors: Visitors, brood: str):
    answer = visitors.owner.get(f"/api/v1/records/{brood}/history?first=500")
    assert (answer.status_code, answer.json) == (200, {"records": [], "next": None})
