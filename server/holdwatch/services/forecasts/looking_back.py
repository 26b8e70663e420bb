"""How a brood's forecast developed, and on which assumptions its night depends: asked for, never stored."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial
from typing import Any

import sqlalchemy as sa

from ...domain.forecast import BadEvidence, Evidence
from ...domain.forecast.assumptions import Dependence, Learn, assumptions_that_matter
from ...domain.learning import learned
from ...domain.species import Profile
from ...store import tables
from ..derived import derived_body
from .lessons import lessons_for
from .reading import understand
from .story import NotYetKnown, read_story

LONGEST = 400
GLANCE = ("issued_at", "now", "catch")
STEPS = ("hatched", "released")
LEVELS = ("q10", "q50", "q90")
Body = dict[str, Any]


class NotFound(Exception):
    """There is no forecast of such a brood; the message says so."""


@dataclass(frozen=True)
class Question:
    """What is needed to vary the assumptions of one brood's forecast, read in one transaction."""

    evidence: Evidence
    profile: Profile
    night: date | None
    learn: Learn


def developed(db: sa.Connection, household_id: str, brood_id: str) -> list[Body]:
    """The forecasts that were issued of a brood, the oldest first, as far as they can be played back."""
    table = tables.issued_forecast
    mine = (table.c.household_id == household_id, table.c.brood_id == brood_id)
    query = sa.select(table.c.body).where(*mine).order_by(table.c.issued_at.desc()).limit(LONGEST)
    bodies = [json.loads(text) for text in db.scalars(query)]
    if not bodies:
        raise NotFound("No forecast of this brood has been issued yet.")
    return [_glance(body) for body in reversed(bodies)]


def _glance(body: Mapping[str, Any]) -> Body:
    steps = {step: {level: body[step][level] for level in LEVELS} for step in STEPS}
    return {name: body[name] for name in GLANCE} | steps


def question(
    db: sa.Connection, household_id: str, brood_id: str, profiles: Mapping[str, Profile], now: datetime
) -> Question:
    """Read what the forecast of this brood rests on; NotFound where there is none."""
    body = derived_body(db, household_id, "forecast", brood_id)
    if not body or body.get("error") or body.get("ended"):
        raise NotFound("There is no forecast of this brood to be doubted.")
    try:
        story = read_story(db, household_id, brood_id, now)
        species = story.male.value("species") or ""
        profile = profiles[species]
        evidence = understand(story, profile, now).evidence
    except (NotYetKnown, BadEvidence, KeyError) as problem:
        raise NotFound("There is no forecast of this brood to be doubted.") from problem
    lessons = lessons_for(db, household_id, species, brood_id)
    learn = partial(learned, lessons, story.male.id, evidence.has_released_before, binned_by=profile)
    night = date.fromisoformat(body["catch"]["night"]) if body["catch"] else None
    return Question(evidence, profile, night, learn)


def depends_on(asked: Question) -> list[Body]:
    """The assumptions at an end of whose range another night would be the one to catch; some seconds of arithmetic."""
    found = assumptions_that_matter(asked.evidence, asked.profile, asked.night, asked.learn)
    return [_dependence(one) for one in found]


def _dependence(one: Dependence) -> Body:
    number = one.number
    low, high = number.range or (None, None)
    return {
        "name": number.name,
        "value": number.value,
        "unit": number.unit,
        "source": number.source,
        "low": low,
        "high": high,
        "night_at_low": one.night_at_low.isoformat() if one.night_at_low else None,
        "night_at_high": one.night_at_high.isoformat() if one.night_at_high else None,
    }
