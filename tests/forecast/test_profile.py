"""The profile of the species: every number with its unit and where it comes from."""

import re
import tomllib
from importlib.resources import files

import pytest

from holdwatch.domain.species import BadProfile, parse_profile

MARKS = ("assumption", "common practice")
CITATION = re.compile(r"\b(19|20)\d\d\b")
PROFILES = [entry for entry in files("holdwatch.profiles").iterdir() if entry.name.endswith(".toml")]
BANGGAI = next(entry for entry in PROFILES if entry.name == "pterapogon_kauderni.toml")


def plain_numbers(table, where=""):
    """Yield the place of every number that stands outside a table with value, unit and source."""
    if isinstance(table, dict):
        for name, entry in table.items():
            yield from () if "value" in table else plain_numbers(entry, f"{where}.{name}")
    elif isinstance(table, list):
        for entry in table:
            yield from plain_numbers(entry, where)
    elif isinstance(table, int | float):
        yield where


@pytest.mark.parametrize("profile", PROFILES, ids=lambda entry: entry.name)
def test_every_number_has_a_unit_and_a_source(profile):
    table = tomllib.loads(profile.read_text(encoding="utf-8"))
    assert list(plain_numbers(table)) == []
    numbers = parse_profile(table).numbers
    assert len(numbers) > 30
    for number in numbers:
        assert number.unit, number.name
        assert number.source.startswith(MARKS) or CITATION.search(number.source), number.name


def test_a_number_without_a_source_is_refused_by_its_place():
    table = tomllib.loads(BANGGAI.read_text(encoding="utf-8"))
    del table["worth"]["eggs"]["source"]
    with pytest.raises(BadProfile, match=r"worth\.eggs: a number without source"):
        parse_profile(table)


def test_a_missing_number_is_refused_by_its_place():
    table = tomllib.loads(BANGGAI.read_text(encoding="utf-8"))
    del table["seen"]["tails"]["most"]
    with pytest.raises(BadProfile, match=r"seen\.tails\.most: missing"):
        parse_profile(table)


def test_a_bare_number_and_an_unknown_way_are_refused():
    table = tomllib.loads(BANGGAI.read_text(encoding="utf-8"))
    with pytest.raises(BadProfile, match="a number is a table"):
        parse_profile(table | {"extra": {"bare": 3}})
    with pytest.raises(BadProfile, match="way"):
        parse_profile(table | {"way": "flies south"})


@pytest.mark.parametrize("section", ["mouth", "held", "plans"])
def test_what_a_way_of_breeding_needs_must_be_there(section):
    table = tomllib.loads(BANGGAI.read_text(encoding="utf-8"))
    del table[section]
    with pytest.raises(BadProfile, match=f"{section}: missing"):
        parse_profile(table)


def test_what_a_way_of_breeding_cannot_have_is_refused():
    table = tomllib.loads(BANGGAI.read_text(encoding="utf-8"))
    with pytest.raises(BadProfile, match="mouth: not for this way of breeding"):
        parse_profile(table | {"way": "released at hatching, after dark"})
