"""What the answer of a round trip says, and how little of it where there is nothing to say."""

from __future__ import annotations

import pytest

from holdwatch.records.kinds import SCHEMA_NUMBER
from people import Visitors
from sync.pushing import added

LEAN, BRIEF = 2, 3
EVERYTHING = {
    *("now", "database", "epoch", "schema", "verdicts", "rows", "derived", "cursor", "more", "recomputing"),
}


def ask(visitor, changes=(), **more):
    asked = {"schema": LEAN, "device": "ab12cd34", "cursor": 2**40, "epoch": None, "changes": list(changes), **more}
    answer = visitor.post("/api/v1/sync", asked)
    assert answer.status_code == 200
    return answer


def test_an_older_client_is_told_everything_even_where_there_is_nothing(visitors: Visitors):
    answer = ask(visitors.owner, schema=LEAN - 1).json
    assert set(answer) == EVERYTHING
    assert answer["verdicts"] == answer["rows"] == answer["derived"] == []
    assert answer["more"] is answer["recomputing"] is False


def test_a_newer_client_is_told_no_more_than_it_needs(visitors: Visitors):
    epoch = ask(visitors.owner).json["epoch"]
    answer = ask(visitors.owner, epoch=epoch).json
    assert set(answer) == {"now", "epoch", "schema", "rows", "cursor", "more"}
    assert answer["schema"] == SCHEMA_NUMBER


@pytest.mark.parametrize("asked", [{"cursor": 0}, {"epoch": "200a0bd4-20c1-8c1a-8325-85d91cffd2e4"}])
def test_whoever_has_not_agreed_with_this_database_before_is_told_which_it_is(visitors: Visitors, asked):
    assert "database" in ask(visitors.owner, **asked).json


def test_what_there_is_is_told_to_both(visitors: Visitors):
    for schema in (LEAN - 1, LEAN, BRIEF):
        made = added(visitors.owner.who, "brood")
        answer = ask(visitors.owner, [made], schema=schema, cursor=0).json
        (verdict,) = answer["verdicts"]
        whole = {"id": made["id"], "verdict": "taken", "reason": None, "fields": []}
        # A newer client knows by the order which one it was.
        assert verdict == ({"verdict": "taken"} if schema == BRIEF else whole)
        assert answer["rows"][-1]["id"] == made["id"]
        assert answer["recomputing"] is True


def test_an_answer_with_nothing_new_is_small(visitors: Visitors):
    answer = ask(visitors.owner, cursor=1_000_000_000)
    # What waitress adds: the first line, the date and the empty line.
    added_by_the_server = "HTTP/1.1 200 OK\r\nDate: Thu, 26 Nov 2026 02:15:48 GMT\r\n\r\n"
    headers = "".join(f"{name}: {value}\r\n" for name, value in answer.headers)
    assert len(headers) + len(added_by_the_server) + len(answer.data) < 400


def test_both_are_told_all_of_what_was_not_taken_and_verdicts_stand_in_the_order_of_the_changes(visitors: Visitors):
    who = visitors.owner.who
    changes = [added(who, "look"), added(who, "look", mouth="ajar"), added(who, "look")]
    for schema in (LEAN - 1, LEAN, BRIEF):
        verdicts = ask(visitors.owner, changes, schema=schema).json["verdicts"]
        assert [verdict["verdict"] for verdict in verdicts] == ["taken", "refused", "taken"]
        assert (verdicts[1]["id"], verdicts[1]["fields"]) == (changes[1]["id"], [])
        assert verdicts[1]["reason"].startswith("mouth: must be one of")
