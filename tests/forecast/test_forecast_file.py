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


def test_a_species_that_hatches_after_dark_has_a_hatch_night_and_is_never_netted(answer):
    clutch = [
        {"at": "2026-03-17T19:00:00+01:00", "light": "daylight", "clutch": "there", "eggs": "orange"},
        {"at": "2026-03-19T19:00:00+01:00", "light": "daylight", "clutch": "there", "eggs": "silver"},
    ]
    spawn = {"at": "2026-03-14T11:00:00+01:00", "error_min": 60}
    code, page, _ = answer(BROOD | {"species": "Amphiprion ocellaris", "looks": clutch, "spawn": spawn})
    assert code == 0
    assert "The hatch night" in page and "no red lamp either" in page
    assert "mouth" not in page and "net" not in page.replace("netted", "").split("Night  ")[0]
    assert "<- hatch night" in page and "catch" not in page and "let go" not in page


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
        ({"species": "Carp"}, "species: 'Carp' is none of Amphiprion ocellaris, Pterapogon kauderni, Sphaeramia"),
        ({"now": "2026-03-20T20:00:00"}, "now: '2026-03-20T20:00:00' has no time zone"),
        ({"now": "yesterday"}, "now: 'yesterday' is not an instant"),
        ({"now": 3}, "now: 3 is not an instant"),
        ({"tank": BROOD["tank"] | {"zone": "Mars/Base"}}, "tank.zone: 'Mars/Base' is no time zone"),
        ({"tank": BROOD["tank"] | {"lamps_out": "25:00"}}, "tank.lamps_out: '25:00' is not a local time"),
        ({"tank": BROOD["tank"] | {"company": "cats"}}, "tank.company: 'cats' is none of alone, others."),
        ({"tank": BROOD["tank"] | {"set_point_c": "warm"}}, "tank.set_point_c: 'warm' is not a number."),
        ({"tank": BROOD["tank"] | {"set_point_c": True}}, "tank.set_point_c: True is not a number."),
        ({"male": {}}, "male.has_released_before: is missing."),
        ({"male": {"has_released_before": "yes"}}, "male.has_released_before: 'yes' is neither true nor false."),
        (
            {"readings": [{"at": "2026-03-18T20:00:00Z", "temperature_c": 46}]},
            "readings[0].temperature_c: 46 is outside -5 to 45.",
        ),
        ({"readings": {}}, "readings: must be a list in brackets."),
        ({"looks": [{"mouth": "full"}]}, "looks[0].at: is missing."),
        ({"looks": [{"at": "2026-03-18T20:00:00Z", "mouth": "open"}]}, "looks[0].mouth: 'open' is none of full"),
        (
            {"looks": [{"at": "2026-03-18T20:00:00Z", "colour": "red"}]},
            "looks[0].colour: is not known here; known are id, at, light,",
        ),
        (
            {"looks": [{"at": "2026-03-21T20:00:00Z", "mouth": "full"}]},
            "looks[0].at: 2026-03-21T20:00:00+00:00 lies after now.",
        ),
        ({"looks": [*BROOD["looks"], {"at": "2026-03-20T19:00:01Z"}]}, "looks[3].at: 2026-03-20T19:00:01+00:00 lies"),
        ({"courtship": [{"at": "2026-03-21T20:00:00Z"}]}, "courtship[0].at: 2026-03-21T20:00:00+00:00 lies after now."),
        ({"readings": [{"at": "2027-03-18T20:00:00Z", "temperature_c": 26}]}, "readings[0].at: 2027-03-18T20:00:00+00"),
        ({"catch": {"at": "2026-03-21T20:00:00Z", "eggs": 0, "yolk": 0, "free": 0}}, "catch.at: 2026-03-21T20:00:00+0"),
        ({"not_before": "2026-03-20T20:00:00+01:00"}, "not_before: 2026-03-20T20:00:00+01:00 does not lie before now."),
        ({"not_after": None, "tank": None}, "tank: must not be null."),
        ({"looks": [None]}, "looks[0]: must not be null."),
        ({"looks": [7]}, "looks[0]: must be an object in braces."),
        ({"male": []}, "male: must be an object in braces."),
        ({"species": 7}, "species: must be text."),
        ({"species": "x" * 5000}, "species: must be ordinary text of at most 100 characters."),
        ({"now": "x" * 5000}, f"now: '{'x' * 59}… is not an instant like"),
        ({"looks": [{"at": "2026-03-18T20:00:00Z", "id": "\ud800"}]}, "looks[0].id: must be ordinary text"),
        ({"looks": [{"at": "2026-03-18T20:00:00Z", "a\nb": 1}]}, "looks[0].'a\\nb': is not known here"),
        ({"looks": BROOD["looks"] * 400}, "looks: has more than the 1000 entries that can be used."),
        ({"tank": BROOD["tank"] | {"zone": "localtime"}}, "tank.zone: 'localtime' is no time zone; one is called Eur"),
        ({"tank": BROOD["tank"] | {"zone": "europe/berlin"}}, "tank.zone: 'europe/berlin' is no time zone"),
        ({"tank": BROOD["tank"] | {"zone": ""}}, "tank.zone: '' is no time zone"),
        ({"tank": BROOD["tank"] | {"set_point_c": 1e999}}, "tank.set_point_c: Infinity is not a number in JSON"),
        ({"spawn": {"at": "2026-03-01T20:00:00Z", "error_min": -1}}, "spawn.error_min: -1 is outside"),
        ({"catch": {"at": "2026-03-01T20:00:00Z", "eggs": 1.5, "yolk": 0, "free": 0}}, "catch.eggs: 1.5 is not"),
        (
            {"not_before": "2026-03-10T20:00:00Z"},
            "looks[0].at: 2026-03-02T21:00:00+01:00 lies before the brood can have begun, ",
        ),
    ],
)
def test_a_fault_is_one_line_that_says_where(answer, change, fault):
    code, printed, faults = answer(BROOD | change)
    assert (code, printed) == (2, "")
    assert any(line.startswith(fault) for line in faults), faults


def test_a_number_too_great_for_a_machine_is_outside(answer):
    code, _, faults = answer(json.dumps(BROOD).replace("26.2", "1e999"))
    assert (code, faults) == (2, ["readings[0].temperature_c: inf is outside -5 to 45."])


def test_the_mark_of_utf_8_at_the_beginning_is_no_fault(answer):
    assert answer("\ufeff" + json.dumps(BROOD), as_json=True) == answer(BROOD, as_json=True)


def test_every_fault_has_its_own_line(answer):
    _, _, faults = answer(BROOD | {"species": "Nemo", "now": "soon", "male": {"has_released_before": 7}})
    assert len(faults) == 3


@pytest.mark.parametrize(
    "text, fault",
    [
        ("{", "line 1, column 2: is not JSON"),
        ("[]", "the file: must be an object in braces."),
        ('{"now": 1, "now": 2}', "now: given twice in one object"),
        ('{"now": NaN}', "now: NaN is not a number in JSON"),
        ("[" * 100_000, "is nested too deeply to be a brood"),
        ('{"now": ' + "9" * 5000 + "}", "now: inf is not an instant"),
        ("", "is empty"),
        (" \n\t", "is empty"),
        ("\ufeff", "is empty"),
        ("nul", "line 1, column 1: is not JSON: a value is missing here"),
        ('{"now" 1}', "line 1, column 8: is not JSON: a colon is missing here"),
        ('{"now": 1 "tank": 2}', "line 1, column 11: is not JSON: a comma or a closing bracket is missing here"),
        ('{"now": "1', "line 1, column 9: is not JSON: this text is never closed"),
        ('{"now": "\n"}', "line 1, column 10: is not JSON: this text holds a line break"),
        ('{"now": "\\x"}', "line 1, column 10: is not JSON: this cannot be read"),
        ("{}{}", "line 1, column 3: is not JSON: there is more after the end"),
        ('{"looks": [{}, {"at": -Infinity}]}', "looks[1].at: -Infinity is not a number in JSON"),
        ('{"looks": [{"at": 1, "eggs": 1, "at": 2}]}', "looks[0].at: given twice in one object"),
        ('{"a\\nb": {"c\\u0000": 1, "c\\u0000": 2}}', "'a\\nb'.'c\\x00': given twice in one object"),
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
    assert "is not text in UTF-8 (at byte 1)" in err.getvalue()
    assert run(str(tmp_path), False, io.StringIO(), err) == 2
    assert f"{tmp_path}: cannot be read: Is a directory\n" in err.getvalue()
    # It has no end.
    assert run("/dev/zero", False, io.StringIO(), err) == 2
    assert "/dev/zero: is larger than 4 MiB; no brood is\n" in err.getvalue()


@pytest.mark.parametrize("name", ["Pterapogon kauderni", "pterapogon_kauderni", "banggai cardinalfish"])
def test_a_species_is_known_by_its_names_and_by_its_id(answer, name):
    assert answer(BROOD | {"species": name}, as_json=True) == answer(BROOD, as_json=True)
