"""Servers and clients of schema number 2 and those of today work together, both ways."""

from __future__ import annotations

import pytest

from sync.home import Home
from sync.neighbours import MAKES, PHOTO, held, previous_server, shown, waiting

HOLIDAY = {"since": "2026-12-01T08:00:00.000Z", "until": "2026-12-08T18:00:00.000Z"}


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
def test_todays_phone_keeps_for_later_what_a_server_of_the_second_version_does_not_know(home: Home, move_in, make: str):
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
