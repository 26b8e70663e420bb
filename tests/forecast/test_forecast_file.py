"""The command that reads one brood from a file: its page of words, its JSON, and a line for each fault."""

import io
import json
from typing import Any

import pytest

from holdwatch.forecast_file import run

BROOD: dict[str, Any] = {
    "species": "Pterapogon kauderni",
    "now": "2026-03-20T20:00:00+01:00",
    "tank": {
        "zone": "Europe/Berlin",
        "set_point_c": 26.5,
        "lamps_out": "22:00",
        "lamps_on": "08:00",
        "company": "others",
    },
    "male": {"has_released_before": True},
    "readings": [{"at": "2026-03-18T20:00:00+01:00", "temperature_c": 26.2}],
    "looks": [
        {"at": "2026-03-02T21:00:00+01:00", "light": "red", "mouth": "full"},
        {"at": "2026-03-15T19:00:00+01:00", "light": "daylight", "mouth": "full", "eggs": "silver"},
        {"at": "2026-03-19T22:30:00+01:00", "light": "red", "mouth": "full", "tails": "seen"},
    ],
    "courtship": [{"at": "2026-02-27T18:00:00+01:00"}],
    "spawn": None,
    "catch": None,
}
STATES = {"eggs", "eyed", "held_young", "releasing", "released", "lost"}


@pytest.fixture
def answer(tmp_path):
    """What the command does with a brood (or any text): its code, what it prints, and its faults."""

    def asked(brood: Any, as_json: bool = False) -> tuple[int, str, list[str]]:
        path = tmp_path / "brood.json"
        path.write_text(brood if isinstance(brood, str) else json.dumps(brood), encoding="utf-8")
        out, err = io.StringIO(), io.StringIO()
        code = run(str(path), as_json, out, err)
        return code, out.getvalue(), [line.removeprefix(f"{path}: ") for line in err.getvalue().splitlines()]

    return asked


def test_the_json_has_every_answer(answer):
    code, printed, faults = answer(BROOD, as_json=True)
    told = json.loads(printed)
    assert (code, faults) == (0, [])
    for step in ("spawned", "silver", "hatched", "released", "released_last"):
        assert list(told[step]) == ["q05", "q10", "q25", "q50", "q75", "q90", "q95"]
    assert set(told["now"]) == STATES and sum(told["now"].values()) == pytest.approx(1)
    assert len(told["nights"]) == 21 and set(told["nights"][0]) == STATES | {"night", "at", "saved"}
    assert set(told["catch"]) == {"night", "at", "saved"}
    assert (told["conflict"], told["not_believed"], told["rough"]) == (None, [], False)
    assert told["points"] >= told["effective_points"] > 2000
    assert told["hatched"]["q50"].endswith("+01:00")


def test_the_page_says_what_is_going_on_and_which_night_to_catch(answer):
    code, page, _ = answer(BROOD)
    assert code == 0
    assert "hatched, still in his mouth" in page
    assert "Tonight, the night that begins Fri 20 Mar, at 23:00" in page
    assert "One night later costs about" in page


def test_absent_keys_and_parts_are_not_seen(answer):
    bare = {key: BROOD[key] for key in ("species", "now", "tank", "male")}
    code, printed, _ = answer(bare, as_json=True)
    assert code == 0 and sum(json.loads(printed)["now"].values()) == pytest.approx(1)


def test_equal_looks_given_twice_change_nothing(answer):
    twice = BROOD | {"looks": [*BROOD["looks"], *BROOD["looks"]]}
    assert answer(twice, as_json=True) == answer(BROOD, as_json=True)


def test_a_caught_brood_is_over(answer):
    caught = BROOD | {"catch": {"at": "2026-03-20T19:00:00+01:00", "eggs": 0, "yolk": 21, "free": 0}}
    _, page, _ = answer(caught)
    assert "this brood is over" in page


@pytest.mark.parametrize(
    "change, fault",
    [
        ({"species": "Nemo"}, "species: 'Nemo' is none of Pterapogon kauderni."),
        ({"now": "2026-03-20T20:00:00"}, "now: '2026-03-20T20:00:00' has no time zone"),
        ({"now": "yesterday"}, "now: 'yesterday' is not an instant"),
        ({"now": 3}, "now: 3 is not an instant"),
        ({"tank": BROOD["tank"] | {"zone": "Mars/Base"}}, "tank.zone: 'Mars/Base' is no time zone"),
        ({"tank": BROOD["tank"] | {"lamps_out": "25:00"}}, "tank.lamps_out: '25:00' is not a local time"),
        ({"tank": BROOD["tank"] | {"company": "cats"}}, "tank.company: 'cats' is none of alone, others."),
        ({"tank": BROOD["tank"] | {"set_point_c": "warm"}}, "tank.set_point_c: 'warm' is not a number."),
        ({"tank": BROOD["tank"] | {"set_point_c": True}}, "tank.set_point_c: True is not a number."),
        ({"male": {}}, "male.has_released_before: Missing"),
        ({"male": {"has_released_before": "yes"}}, "male.has_released_before: Not a valid boolean."),
        (
            {"readings": [{"at": "2026-03-18T20:00:00Z", "temperature_c": 46}]},
            "readings[0].temperature_c: 46 is outside -5 to 45.",
        ),
        ({"readings": {}}, "readings: Not a valid list."),
        ({"looks": [{"mouth": "full"}]}, "looks[0].at: Missing"),
        ({"looks": [{"at": "2026-03-18T20:00:00Z", "mouth": "open"}]}, "looks[0].mouth: 'open' is none of full"),
        ({"looks": [{"at": "2026-03-18T20:00:00Z", "colour": "red"}]}, "looks[0].colour: Unknown field."),
        ({"looks": [{"at": "2026-03-21T20:00:00Z", "mouth": "full"}]}, "look at 2026-03-21T20:00:00+00:00 at"),
        ({"spawn": {"at": "2026-03-01T20:00:00Z", "error_min": -1}}, "spawn.error_min: -1 is outside"),
        ({"catch": {"at": "2026-03-01T20:00:00Z", "eggs": 1.5, "yolk": 0, "free": 0}}, "catch.eggs: 1.5 is not"),
        ({"not_before": "2026-03-10T20:00:00Z"}, "look at 2026-03-02T21:00:00+01:00 at"),
    ],
)
def test_a_fault_is_one_line_that_says_where(answer, change, fault):
    code, printed, faults = answer(BROOD | change)
    assert (code, printed) == (2, "")
    assert any(line.startswith(fault) for line in faults), faults


def test_every_fault_has_its_own_line(answer):
    _, _, faults = answer(BROOD | {"species": "Nemo", "now": "soon", "male": {"has_released_before": 7}})
    assert len(faults) == 3


@pytest.mark.parametrize(
    "text, fault",
    [
        ("{", "line 1, column 2: is not JSON"),
        ("[]", "the file: Invalid input type."),
        ('{"now": 1, "now": 2}', "now: given twice in one object"),
        ('{"now": NaN}', "NaN is not a number in JSON"),
        ("[" * 100_000, "is not the JSON text of a brood"),
        ('{"now": ' + "9" * 5000 + "}", "is not the JSON text of a brood"),
    ],
)
def test_what_is_no_json_of_a_brood_is_told_so(answer, text, fault):
    code, _, faults = answer(text)
    assert code == 2
    assert any(line.startswith(fault) for line in faults), faults


def test_a_file_that_cannot_be_read_is_told_so(tmp_path):
    err = io.StringIO()
    assert run(str(tmp_path / "none.json"), False, io.StringIO(), err) == 2
    assert "cannot be read: No such file" in err.getvalue()
    (tmp_path / "picture.json").write_bytes(b"\xff\xd8\xff")
    assert run(str(tmp_path / "picture.json"), False, io.StringIO(), err) == 2
    assert "is not the JSON text of a brood" in err.getvalue()


@pytest.mark.parametrize("name", ["Pterapogon kauderni", "pterapogon_kauderni", "banggai cardinalfish"])
def test_a_species_is_known_by_its_names_and_by_its_id(answer, name):
    assert answer(BROOD | {"species": name}, as_json=True) == answer(BROOD, as_json=True)
