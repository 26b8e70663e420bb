"""The forecast as it comes down to phones: the numbers, and what a screen needs to say of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Any

from ...domain.forecast import BadEvidence, Forecast, forecast, to_json
from ...domain.learning import Lesson, learned
from ...domain.species import Profile
from ...records.instants import instant_text, parse_instant
from ..temperature import told_development
from .reading import Understood, last_ate, read_tank, understand
from .story import NotYetKnown, Story
from .taught import changed_lesson, told_lessons

Body = dict[str, Any]
OVER = ("released", "lost", "mistake")
WORTH_A_WORD = timedelta(days=0.1)
"""A move of the median hatching from which temperature too has a forecast issued anew."""


def forecast_body(
    story: Story,
    profiles: Mapping[str, Profile],
    previous: Body | None,
    now: datetime,
    lessons: Sequence[Lesson] = (),
) -> Body:
    """The forecast of one brood; where none can be made, `error` says why in words for people."""
    ended, taken_away = story.ended(), story.taken_away()
    if ended in OVER or (ended and taken_away):
        return _over(story, previous)
    if taken_away:
        return no_forecast(story.brood.id, taken_away)
    profile = profiles.get(story.male.value("species") or "")
    if profile is None:
        return no_forecast(story.brood.id, "The species of this male is not known yet. Choose it under Household.")
    try:
        understood = understand(story, profile, now)
        if ended and not understood.evidence.catch:
            # Somebody said that he was caught, and nobody what came up: no night is ahead all the same.
            return _over(story, previous)
        released = understood.evidence.has_released_before
        wiser = learned(lessons, story.male.id, released, profile)
        made = forecast(understood.evidence, profile, announced=_announced(previous), learned=wiser)
    except NotYetKnown as problem:
        return no_forecast(story.brood.id, str(problem))
    except BadEvidence as problem:
        return no_forecast(story.brood.id, problem.plainly())
    body = {
        **to_json(made),
        **_frame(story, understood, now),
        "way": profile.way,
        **told_lessons(lessons, story.male.id, profile),
        **_since(previous, made, story, lessons),
    }
    evidence = understood.evidence
    # By this later readings are judged: whether they can have moved the hatch at all.
    days = told_development(body, evidence.readings, evidence.tank.set_point_c, profile)
    return {**body, "development_days": round(days, 6)}


def _over(story: Story, previous: Body | None) -> Body:
    """What comes down of a brood that is over: the last that was believed of it, and no night."""
    return {
        **(previous or {}),
        "brood": story.brood.id,
        "ended": story.ended(),
        "nights": [],
        "grid": [],
        "catch": None,
    }


def no_forecast(brood_id: str, reason: str) -> Body:
    """What comes down where no forecast can be made."""
    return {"brood": brood_id, "ended": None, "error": reason, "nights": [], "grid": [], "catch": None}


def _frame(story: Story, understood: Understood, now: datetime) -> Body:
    tank, ate = read_tank(story.tank), last_ate(story)
    return {
        "brood": story.brood.id,
        "issued_at": instant_text(now),
        "from_revision": story.revision,
        "ended": story.ended(),
        "error": None,
        "zone": tank.zone,
        "lamps_out": story.tank.value("lamps_out"),
        "lamps_on": story.tank.value("lamps_on"),
        "company": tank.company,
        "last_ate": instant_text(ate) if ate else None,
        "looks_used": understood.events,
        "left_out": list(understood.left_out),
    }


def _since(previous: Body | None, made: Forecast, story: Story, lessons: Sequence[Lesson]) -> Body:
    """The forecast before this one, and what changed since and because of which record."""
    if not previous or not previous.get("issued_at"):
        return {"previous": None, "changed": None}
    glance = {name: previous.get(name) for name in ("issued_at", "catch", "hatched")}
    return {"previous": glance, "changed": _changed(previous, made, story, lessons)}


def _changed(previous: Body, made: Forecast, story: Story, lessons: Sequence[Lesson]) -> Body | None:
    """How the night to catch moved, and because of which look or which other brood.

    What another brood taught is also told of where it moved the hatching alone: nobody would look for it there.
    """
    before, after = _night(previous.get("catch")), made.catch.night.isoformat() if made.catch else None
    seen, taught = _newest(story, previous["from_revision"]), changed_lesson(previous, lessons)
    by_lesson_alone = taught is not None and seen is None and _hatching_moved(previous, made)
    if before == after and not by_lesson_alone:
        return None
    return {"from_night": before, "to_night": after, "because": seen or taught}


def _hatching_moved(previous: Body, made: Forecast) -> bool:
    return abs(made.hatched.q50 - parse_instant(previous["hatched"]["q50"])) >= WORTH_A_WORD


def _newest(story: Story, revision: int) -> str | None:
    """The id of what came in last among all that the forecast before could not know of."""
    new = [record for record in (*story.looks, *story.feedings, *story.marks) if record.revision > revision]
    return max(new, key=lambda record: record.revision).id if new else None


def _announced(previous: Body | None) -> date | None:
    night = _night(previous.get("catch")) if previous else None
    return date.fromisoformat(night) if night else None


def _night(catch: Any) -> str | None:
    return catch["night"] if catch else None


def issued_at(body: Body) -> datetime | None:
    """When this forecast was issued; None if it is none."""
    return parse_instant(body["issued_at"]) if body.get("issued_at") and not body.get("error") else None
