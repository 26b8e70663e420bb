"""Broods of our own invention for the checks of the forecast."""

import tomllib
from collections.abc import Callable
from datetime import timedelta
from importlib.resources import files
from typing import Any

import pytest

from forecast.household import NOW, tank
from holdwatch.domain.forecast import Evidence, Reading
from holdwatch.domain.looks import Look
from holdwatch.domain.species import Profile, parse_profile


@pytest.fixture(scope="session")
def banggai() -> Profile:
    text = (files("holdwatch.profiles") / "pterapogon_kauderni.toml").read_text(encoding="utf-8")
    return parse_profile(tomllib.loads(text))


@pytest.fixture
def brood() -> Callable[..., Evidence]:
    """A brood at `NOW` in a tank at its set point, with whatever else is known of it."""

    def made(**known: Any) -> Evidence:
        return Evidence(**{"now": NOW, "tank": tank(), "has_released_before": True} | known)

    return made


@pytest.fixture
def held_evenings() -> tuple[Look, ...]:
    """Eleven evenings of a full mouth under red light, the last three with tails."""
    return tuple(
        Look(
            id=f"evening {days:02d}",
            at=NOW - timedelta(days=days, hours=-1.5) - timedelta(hours=2),
            light="red",
            mouth="full",
            tails="seen" if days < 3 else "none",
        )
        for days in range(20, -1, -2)
    )


@pytest.fixture
def hourly_readings() -> tuple[Reading, ...]:
    """Twenty-five days of hourly readings that swing by a degree between day and night."""
    return tuple(
        Reading(NOW - timedelta(hours=hours), 26.2 + (0.5 if (hours // 12) % 2 else -0.5)) for hours in range(600)
    )
