"""The kinds of records: what each field takes, and what it says to the person whose value it does not take."""

from __future__ import annotations

from importlib import resources

import pytest
from hypothesis import given
from hypothesis import strategies as st
from marshmallow import fields as shapes

from holdwatch.records.fields import TEXT_LIMIT, Instant, Number, Truth
from holdwatch.records.kinds import KINDS, WATCHED_SPECIES, faults, unknown_fields

FIELDS = [(kind, name) for kind, schema in KINDS.items() for name in schema.fields]
GOOD = {
    "about": "017f22e2-79b0-7cc3-98c4-dc0c0c07398f",
    "food_id": "017f22e2-79b0-7cc3-98c4-dc0c0c07398f",
    "zone": "Europe/Berlin",
    "weekdays": "TU,TH",
    "species": "pterapogon_kauderni",
    "lamps_out": "21:30",
    "lamps_on": "07:00",
    "temperature_c": 25.4,
    "set_point_c": 26,
    "person": "1d2fad59-a718-43a5-9816-0f1b402a6a72",
    "sha256": "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
}
WRONG = [
    {},
    [],
    {"value": "full"},
    float("nan"),
    float("inf"),
    -float("inf"),
    10**400,
    -1e300,
    "\x00",
    "full\x00",
    "\ud800",
    "x" * 100_000,
]


def good_value(kind, name):
    field = KINDS[kind].fields[name]
    choices = [check.choices for check in field.validators if hasattr(check, "choices")]
    if name in GOOD:
        return GOOD[name]
    if choices:
        return choices[0][0]
    known = {Instant: "2026-11-25T20:10:00.000Z", Number: 3, Truth: True}
    return known.get(type(field), "by the left urchin")


@pytest.mark.parametrize(("kind", "name"), FIELDS)
def test_every_field_takes_a_good_value_and_can_be_cleared(kind, name):
    assert faults(kind, {name: good_value(kind, name)}) == []
    assert faults(kind, {name: None}) == []


@pytest.mark.parametrize(("kind", "name"), FIELDS)
def test_no_field_takes_what_is_of_no_kind_at_all_and_each_says_so_by_name(kind, name):
    for wrong in WRONG:
        (fault,) = faults(kind, {name: wrong})
        assert fault.startswith(f"{name}: ")
        assert len(fault) < 300


@pytest.mark.parametrize(("kind", "name"), FIELDS)
def test_no_field_takes_a_value_of_another_type(kind, name):
    field = KINDS[kind].fields[name]
    others = {Number: ["3", True], Truth: ["true", 1, 0], Instant: [1_764_061_800, True]}.get(type(field), [3, True])
    for other in others:
        assert faults(kind, {name: other}), other


@given(st.sampled_from(FIELDS), st.one_of(st.text(), st.integers(), st.floats(), st.booleans()))
def test_any_value_is_either_taken_or_has_one_fault_and_nothing_breaks(field, value):
    kind, name = field
    assert len(faults(kind, {name: value})) <= 1


@pytest.mark.parametrize("celsius", [-5.01, 45.01, 77, -300])
@pytest.mark.parametrize(("kind", "name"), [("reading", "temperature_c"), ("tank", "set_point_c")])
def test_a_temperature_outside_of_the_possible_is_told_its_bounds(kind, name, celsius):
    assert faults(kind, {name: celsius}) == [f"{name}: must be between -5 and 45 °C"]
    assert faults(kind, {name: -5}) == faults(kind, {name: 45}) == []


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("2026-11-25T20:10:00", "no offset"),
        ("2026-11-25", "no offset"),
        ("yesterday", "no instant"),
        ("2026-02-30T20:10:00Z", "no instant"),
        ("2026-W48-3T20:10:00Z", "must be written as"),
        ("20261125T201000Z", "must be written as"),
        ("2026-11-25 20:10:00Z", "must be written as"),
        ("2026-11-25T20:10:00,5Z", "must be written as"),
        ("0001-01-01T00:00:00+14:00", "too far away"),
    ],
)
def test_an_instant_must_say_where_it_stands_in_time(text, says):
    (fault,) = faults("look", {"at": text})
    assert says in fault


def test_an_instant_may_carry_any_offset():
    for written in ("20:10:00Z", "20:10Z", "20:10:00.5+05:45", "20:10:00-03:30"):
        assert faults("look", {"at": f"2026-11-25T{written}"}) == []


@pytest.mark.parametrize("zone", ["Mars/Olympus", "europe/berlin", "", "localtime", "../../etc/passwd", "x" * 9000])
def test_an_unknown_time_zone_is_told_by_an_example(zone):
    (fault,) = faults("tank", {"zone": zone})
    assert fault.endswith("is no time zone; one is called Europe/Berlin")
    assert len(fault) < 120


def test_an_unknown_species_is_told_which_there_are():
    assert faults("fish", {"species": "betta"}) == ["species: must be one of " + ", ".join(WATCHED_SPECIES)]


def test_every_species_that_a_fish_may_have_comes_with_a_profile():
    folder = resources.files("holdwatch") / "profiles"
    profiles = [file.name.removesuffix(".toml") for file in folder.iterdir() if file.name.endswith(".toml")]
    assert sorted(WATCHED_SPECIES) == sorted(profiles)


@pytest.mark.parametrize("time", ["24:00", "7:00", "07:60", "07:00:00", "07:00\n", "٠٧:٠٠", "noon"])
def test_a_time_of_day_has_two_digits_twice(time):
    assert faults("tank", {"lamps_out": time}) == ["lamps_out: must be a time of day such as 21:30"]


def test_counts_are_whole_and_not_below_nothing():
    assert faults("mark", {"eggs": 2.5}) == ["eggs: must be a whole number"]
    assert faults("mark", {"eggs": -1}) == ["eggs: must be between 0 and 10000"]
    assert faults("mark", {"eggs": 34.0}) == []


def test_a_note_may_be_long_but_not_endless():
    assert faults("look", {"note": "ü" * TEXT_LIMIT}) == []
    assert faults("look", {"note": "ü" * (TEXT_LIMIT + 1)}) == [f"note: must be at most {TEXT_LIMIT} characters long"]


def test_what_a_record_belongs_to_is_named_by_an_id():
    for about in ("", "017F22E2-79B0-7CC3-98C4-DC0C0C07398F", "../tank", "017f22e2-79b0-4cc3-98c4-dc0c0c07398f"):
        assert faults("look", {"about": about}) == ["about: must be the id of a record"]


def test_fields_of_a_newer_client_are_known_as_unknown_and_are_no_fault():
    assert unknown_fields("look", {"mouth": 1, "gill_rate": 2, "aura": 3}) == ["aura", "gill_rate"]
    assert faults("look", {"gill_rate": object()}) == []


def test_every_field_is_a_plain_value():
    allowed = (shapes.String, shapes.Float, shapes.Boolean)
    assert all(isinstance(field, allowed) for schema in KINDS.values() for field in schema.fields.values())
