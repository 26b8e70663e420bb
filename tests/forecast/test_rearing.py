"""What a profile says of young in the nursery: of what may be fed, and that its rations have their days."""

from __future__ import annotations

import tomllib
from importlib.resources import files

import pytest

from holdwatch.domain.species import BadProfile, parse_profile


@pytest.fixture
def table():
    return tomllib.loads((files("holdwatch.profiles") / "pterapogon_kauderni.toml").read_text(encoding="utf-8"))


def test_a_first_food_that_nobody_knows_is_refused(table):
    table["rearing"]["first_food"] = "crumbs"
    with pytest.raises(BadProfile, match=r"rearing\.first_food: 'crumbs' is none of"):
        parse_profile(table)


def test_a_ration_without_its_day_is_refused(table):
    table["rearing"]["ration_nauplii"]["value"].append(400.0)
    with pytest.raises(BadProfile, match=r"rearing\.ration_nauplii: wants one value"):
        parse_profile(table)


def test_a_profile_without_rearing_is_refused_by_its_place(table):
    del table["rearing"]
    with pytest.raises(BadProfile, match="rearing: missing"):
        parse_profile(table)
