"""The product asked about a brood in its JSON form, by the same door as `holdwatch forecast FILE`."""

import json
from datetime import datetime
from functools import cache
from pathlib import Path

import numpy as np

from holdwatch.domain.catch import recommended
from holdwatch.domain.forecast import Belief, Evidence, believe, forecast, to_json
from holdwatch.domain.forecast.nights import night_table, night_worths
from holdwatch.domain.forecast.prior import Learned
from holdwatch.domain.learning import Lesson, learned, lesson
from holdwatch.domain.species import Profile
from holdwatch.forecast_file import read_brood


def told(document: dict, folder: Path) -> dict:
    """The product's forecast of a brood, as JSON."""
    return to_json(forecast(*read_brood(_written(document, folder))))


def believed(document: dict, folder: Path) -> Belief:
    """What the product believes of a brood."""
    return believe(*read_brood(_written(document, folder)))


def chance_before(belief: Belief, step: str, at: datetime) -> float:
    """The chance that a step (spawn, silver, hatch, released, released_last) came before an instant."""
    days = (at - belief.origin).total_seconds() / 86400
    return float(np.sum(belief.weights[getattr(belief.steps, step) < days]))


def asked(document: dict, folder: Path) -> tuple[Evidence, Profile]:
    """A brood as the product reads it: its evidence, and the profile of its species."""
    return read_brood(_written(document, folder))


def told_after_learning(household: dict, folder: Path) -> dict:
    """The product's forecast of a household's next brood, as JSON."""
    evidence, profile = read_brood(_written(household["next"]["brood"], folder))
    return to_json(forecast(evidence, profile, learned=taught(household, folder)))


def believed_after_learning(household: dict, folder: Path) -> Belief:
    """What the product believes of a household's next brood."""
    evidence, profile = read_brood(_written(household["next"]["brood"], folder))
    return believe(evidence, profile, taught(household, folder))


def taught(household: dict, folder: Path, male_id: str | None = None) -> Learned | None:
    """What the household's finished broods taught of the next brood of a male, of the one that is asked about."""
    evidence, profile = read_brood(_written(household["next"]["brood"], folder))
    male = household["next"]["male_id"] if male_id is None else male_id
    return learned(lessons(household, folder), male, evidence.has_released_before, profile)


def lessons(household: dict, folder: Path) -> list[Lesson]:
    """What each finished brood of a household teaches."""
    return [_lesson(json.dumps(one["brood"]), f"{n}", one["male_id"], folder)
            for n, one in enumerate(household["household"])]


@cache
def _lesson(document: str, name: str, male: str, folder: Path) -> Lesson:
    evidence, profile = read_brood(_written(json.loads(document), folder))
    return lesson(name, male, believe(evidence, profile), evidence, profile)


def night_recommended(document: dict, folder: Path) -> dict | None:
    """The night to catch, without the rest of the forecast."""
    evidence, profile = read_brood(_written(document, folder))
    return _best(evidence, profile)


def _best(evidence: Evidence, profile: Profile) -> dict | None:
    belief = believe(evidence, profile)
    nights = night_table(belief, tuple(night_worths(belief, evidence, profile)))
    best = recommended([night.prospect() for night in nights])
    return {"night": best.night.date.isoformat(), "at": best.night.at.isoformat()} if best else None


def _written(document: dict, folder: Path) -> Path:
    path = folder / "brood.json"
    path.write_text(json.dumps(document))
    return path
