"""Servers and clients of neighbouring versions work together, both ways, and nothing is lost on the way up."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa

from holdwatch.records.kinds import SCHEMA_NUMBER
from holdwatch.store.database import writing
from people import settle
from sync.client_phone import Node, running_node
from sync.home import Hand, Home
from sync.pushing import rows

NEIGHBOUR = str(Path(__file__).with_name("neighbouring_server.py"))
PHOTO = {"sha256": "ab" * 32, "bytes": 1000, "width": 40, "height": 30}
HOLIDAY = {"since": "2026-12-01T08:00:00.000Z", "until": "2026-12-08T18:00:00.000Z"}
SCHEMAS = {"older": 1, "previous": 2, "present": SCHEMA_NUMBER, "newer": SCHEMA_NUMBER + 1}
MAKES = ["model", "client"]


class Nodes:
    """The processes of the client's phones, one for each version, started when they are asked for."""

    def __init__(self, stack: ExitStack) -> None:
        self.stack, self.running = stack, dict[str, Node]()

    def of(self, version: str) -> Node:
        """The process for `present`, `newer`, `previous` or `older` phones."""
        if version not in self.running:
            named = () if version == "present" else (version,)
            self.running[version] = self.stack.enter_context(running_node(*named))
        return self.running[version]


@pytest.fixture(scope="module")
def nodes() -> Iterator[Nodes]:
    with ExitStack() as stack:
        yield Nodes(stack)


@pytest.fixture
def home(engine: sa.Engine, password_hash: str, tmp_path: Path) -> Home:
    return Home(engine, tmp_path / "server.log")


@pytest.fixture
def move_in(home: Home, nodes: Nodes, password_hash: str) -> Callable[..., Hand]:
    """Gives one of the three people a phone of this make and version."""
    with writing(home.engine) as db:
        people = settle(db, password_hash, datetime.now(UTC))

    def move(role: str, make: str, version: str = "present") -> Hand:
        hand = home.hand(role, role, getattr(people, role).who, nodes.of(version) if make == "client" else None)
        if make == "model":
            hand.phone.schema = SCHEMAS[version]
        return hand

    return move


def older_server(home: Home) -> Any:
    return home.serve(NEIGHBOUR, "older")


def previous_server(home: Home) -> Any:
    return home.serve(NEIGHBOUR, "previous")


def newer_server(home: Home) -> Any:
    return home.serve(NEIGHBOUR, "newer")


def held(home: Home, hand: Hand) -> dict[str, dict[str, Any]]:
    """What the server has, by id."""
    found = json.loads(json.dumps(rows(home.engine, hand.who)))
    home.engine.dispose()
    return {record: {name: field["value"] for name, field in row["fields"].items()} for record, row in found.items()}


def shown(hand: Hand, record: str) -> dict[str, Any]:
    return {name: field["value"] for name, field in hand.phone.hold()[record]["fields"].items()}


def waiting(hand: Hand) -> int:
    phone = hand.phone
    return phone.waiting() if hasattr(phone, "waiting") else phone._ask("waiting")["value"]


def exported(hand: Hand) -> set[str]:
    """Names of the fields that a phone of the client's would export of what has not gone up."""
    return {name for entry in hand.phone._ask("hold")["writes"] for name in entry["fields"]}


@pytest.mark.parametrize("make", MAKES)
def test_what_a_newer_phone_writes_waits_on_it_until_the_server_is_as_new(home: Home, move_in, make: str):
    newer, present = move_in("owner", make, "newer"), move_in("keeper", "client")
    with home.serve():
        newer.sign_in()
        present.sign_in()
        tank = newer.phone.write("tank", {"name": "Bay"})
        pond = newer.phone.write("pond", {"about": tank, "depth": 1.5})
        look = newer.phone.write("look", {"about": tank, "mouth": "full", "food": "nibbled", "gills": "fast"})
        plain = newer.phone.write("feeding", {"about": tank, "took": "ate"})
        newer.agree()
        newer.phone.edit(pond, {"depth": 2})
        newer.agree()
        there = held(home, newer)
        assert set(there) == {tank, look, plain} and not {"gills", "food"} & set(there[look])
        assert newer.phone.attention() == [] and waiting(newer) == 3
        assert shown(newer, look)["gills"] == "fast" and shown(newer, pond)["depth"] == 2
        if make == "client":
            assert {"gills", "food", "depth"} <= exported(newer)
        present.agree()
        assert "gills" not in shown(present, look)
    with newer_server(home):
        newer.agree()
        newer.agree()
        there = held(home, newer)
        assert (there[look]["gills"], there[look]["food"]) == ("fast", "nibbled")
        assert there[pond] == {**there[pond], "about": tank, "depth": 2}
        assert waiting(newer) == 0 and newer.phone.attention() == []
        # A phone of today keeps what it does not know, as it came, and writes nothing of it.
        present.agree()
        assert shown(present, look)["gills"] == "fast" and shown(present, pond)["depth"] == 2
        with pytest.raises(AssertionError, match="unknown"):
            present.phone.edit(pond, {"depth": 3})
        present.phone.edit(look, {"mouth": "smaller"})
        present.agree()
        assert held(home, newer)[look] == {**there[look], "mouth": "smaller"}


@pytest.mark.parametrize("make", MAKES)
def test_a_phone_of_the_first_version_goes_on_beside_todays(home: Home, move_in, make: str):
    older, present = move_in("owner", make, "older"), move_in("keeper", "client")
    with home.serve():
        older.sign_in()
        present.sign_in()
        tank = older.phone.write("tank", {"name": "Bay"})
        look = older.phone.write("look", {"about": tank, "mouth": "full"})
        older.agree()
        present.agree()
        photo = present.phone.write("photo", {"about": look, **PHOTO})
        present.phone.edit(look, {"separate": True})
        present.agree()
        older.agree()
        assert shown(older, photo)["sha256"] == PHOTO["sha256"] and shown(older, look)["separate"] is True
        older.phone.edit(look, {"mouth": "smaller"})
        fed = older.phone.write("feeding", {"about": tank, "took": "ate"})
        older.agree()
        present.agree()
        there = held(home, older)
        assert there[look] == {**there[look], "mouth": "smaller", "separate": True}
        assert set(there) == {tank, look, photo, fed} == set(present.phone.hold())
        assert waiting(older) == 0 and older.phone.attention() == []
        if make == "client":
            with pytest.raises(AssertionError, match="unknown"):
                older.phone.edit(photo, {"note": "no"})
            assert photo in {record["id"] for record in older.phone._ask("hold")["records"]}


@pytest.mark.parametrize("make", MAKES)
def test_todays_phone_keeps_for_later_what_a_server_of_the_first_version_does_not_know(
    home: Home, move_in, make: str
):
    present, other = move_in("owner", make), move_in("keeper", "client", "older")
    with older_server(home):
        present.sign_in()
        other.sign_in()
        tank = present.phone.write("tank", {"name": "Bay"})
        look = present.phone.write("look", {"about": tank, "mouth": "full", "separate": True})
        photo = present.phone.write("photo", {"about": look, **PHOTO})
        present.agree()
        # Now that it knows the server it goes on as before.
        fed = present.phone.write("feeding", {"about": tank, "took": "ate", "separate": True})
        present.agree()
        other.agree()
        present.phone.edit(look, {"mouth": "smaller"})
        present.agree()
        there = held(home, present)
        assert set(there) == {tank, look, fed} and there[look]["mouth"] == "smaller"
        assert not any("separate" in fields for fields in there.values())
        assert waiting(present) == 3 and present.phone.attention() == []
        assert shown(present, look)["separate"] is True and shown(present, photo)["width"] == 40
    with home.serve():
        present.agree()
        present.agree()
        other.agree()
    there = held(home, present)
    assert waiting(present) == 0 and present.phone.attention() == []
    assert there[photo]["sha256"] == PHOTO["sha256"]
    assert there[look]["separate"] is True and there[fed]["separate"] is True and there[look]["mouth"] == "smaller"
    assert set(other.phone.hold()) == set(there)


@pytest.mark.parametrize("make", MAKES)
def test_a_server_is_brought_up_to_date_under_a_phone_in_the_middle_of_its_queue(home: Home, move_in, make: str):
    phone, other = move_in("owner", make), move_in("keeper", "client")
    with older_server(home):
        phone.sign_in()
        other.sign_in()
        tank = phone.phone.write("tank", {"name": "Bay"})
        made = [tank]
        for number in range(12):
            made.append(phone.phone.write("look", {"about": tank, "note": f"look {number}", "separate": True}))
            made.append(phone.phone.write("photo", {"about": made[-1], **PHOTO, "sha256": f"{number:064x}"}))
        for _ in range(3):
            phone.round_trip(limit=4)
        # This one arrives, and its answer is lost with the server.
        batch, request = phone.phone.request(False, 4)
        assert request["changes"]
        phone.ask("POST", "/api/v1/sync", request)
        before = held(home, phone)
    with home.serve():
        for _ in range(3):
            phone.agree(limit=4)
        other.agree()
    there = held(home, phone)
    assert set(there) == set(made) and set(before) < set(there)
    assert all(fields["separate"] is True for fields in there.values() if "note" in fields)
    assert waiting(phone) == 0 and phone.phone.attention() == []
    assert set(other.phone.hold()) == set(made)


@pytest.mark.parametrize("make", MAKES)
def test_a_phone_of_the_first_version_brings_back_what_it_does_not_know_itself(
    home: Home, move_in, tmp_path, make: str
):
    older, present = move_in("owner", make, "older"), move_in("keeper", "client")
    with home.serve():
        older.sign_in()
        present.sign_in()
        tank = older.phone.write("tank", {"name": "Bay"})
        older.agree()
        home.command("backup", tmp_path / "tuesday")
        present.agree()
        photo = present.phone.write("photo", {"about": tank, **PHOTO})
        look = present.phone.write("look", {"about": tank, "mouth": "full", "separate": True})
        present.agree()
        older.agree()
    home.database.unlink()
    home.command("restore", tmp_path / "tuesday")
    with home.serve():
        older.sign_in()
        older.agree()
        there = held(home, older)
        assert there[photo]["sha256"] == PHOTO["sha256"] and there[look]["separate"] is True
        present.sign_in()
        present.agree()
        older.agree()
    assert waiting(older) == waiting(present) == 0
    assert set(older.phone.hold()) == set(present.phone.hold()) == {tank, photo, look}


@pytest.mark.parametrize("make", MAKES)
def test_a_phone_of_the_second_version_goes_on_beside_todays(home: Home, move_in, make: str):
    previous, present = move_in("owner", make, "previous"), move_in("keeper", "client")
    with home.serve():
        previous.sign_in()
        present.sign_in()
        tank = previous.phone.write("tank", {"name": "Bay"})
        previous.agree()
        present.agree()
        away = present.phone.write("absence", {"person": present.who.person_id, **HOLIDAY})
        later = present.phone.write("mark", {"what": "later", "duty": "look:x", "until": "2026-11-25T21:00:00.000Z"})
        present.agree()
        previous.agree()
        assert shown(previous, away)["person"] == present.who.person_id and shown(previous, later)["what"] == "later"
        previous.phone.edit(tank, {"name": "Cove"})
        photo = previous.phone.write("photo", {"about": tank, **PHOTO})
        previous.agree()
        present.agree()
        there = held(home, previous)
        assert there[tank]["name"] == "Cove" and there[later]["until"] and there[away]["since"] == HOLIDAY["since"]
        assert set(there) == {tank, photo, away, later} == set(present.phone.hold())
        assert waiting(previous) == 0 and previous.phone.attention() == []


@pytest.mark.parametrize("make", MAKES)
def test_todays_phone_keeps_for_later_what_a_server_of_the_second_version_does_not_know(
    home: Home, move_in, make: str
):
    present, other = move_in("owner", make), move_in("keeper", "client", "previous")
    with previous_server(home):
        present.sign_in()
        other.sign_in()
        away = present.phone.write("absence", {"person": present.who.person_id, **HOLIDAY})
        later = present.phone.write("mark", {"what": "later", "duty": "look:x", "until": "2026-11-25T21:00:00.000Z"})
        done = present.phone.write("mark", {"what": "done", "duty": "look:y"})
        photo = present.phone.write("photo", {"about": done, **PHOTO})
        present.agree()
        present.phone.edit(done, {"note": "by torch"})
        present.agree()
        other.agree()
        there = held(home, present)
        assert away not in there and "what" not in there.get(later, {})
        assert there[done]["note"] == "by torch" and there[photo]["sha256"] == PHOTO["sha256"]
        assert waiting(present) == 2 and present.phone.attention() == []
        assert shown(present, later)["what"] == "later" and shown(present, away)["since"] == HOLIDAY["since"]
    with home.serve():
        present.agree()
        present.agree()
        other.agree()
    there = held(home, present)
    assert waiting(present) == 0 and present.phone.attention() == []
    assert there[later]["what"] == "later" and there[later]["until"] and there[away]["until"] == HOLIDAY["until"]
    assert set(other.phone.hold()) == set(there) == {away, later, done, photo}
