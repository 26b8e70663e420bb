"""Servers and clients of neighbouring versions work together, both ways, and nothing is lost on the way up."""

from __future__ import annotations

import pytest

from sync.home import Home
from sync.neighbours import MAKES, PHOTO, exported, held, newer_server, older_server, shown, waiting


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
def test_todays_phone_keeps_for_later_what_a_server_of_the_first_version_does_not_know(home: Home, move_in, make: str):
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
