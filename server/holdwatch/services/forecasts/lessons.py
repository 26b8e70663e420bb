"""What finished broods have taught: worked out when one ends or is corrected, kept, and put before the next.

A lesson is worked out as of the brood's end, so that it is the same whenever that happens, and from the books alone.
When one changes, every brood under way that leans on it is forecast anew.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict, replace
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ...domain.forecast import BadEvidence, Ending, Evidence, believe
from ...domain.learning import Lesson, lesson
from ...domain.species import Profile
from ...records.merge import canonical
from ...store import tables
from ...store.upsert import upserting
from ..recomputing import ask_for_broods, broods_of_species
from .reading import understand
from .story import NotYetKnown, Story, read_story

FINISHED = ("caught", "released", "lost")
DECIMALS = 6


def read_finished(
    db: sa.Connection, household_id: str, story: Story, profile: Profile, now: datetime
) -> Evidence | None:
    """The evidence of a brood that is over, as of its end; None where it is not, or nobody can say how it ended."""
    how, ended_at = story.ended(), story.ended_at()
    if how not in FINISHED or ended_at is None or ended_at > now:
        return None
    try:
        then = read_story(db, household_id, story.brood.id, ended_at)
        evidence = understand(then, profile, ended_at).evidence
        if how == "caught":
            return evidence if evidence.catch else None
        return replace(evidence, ending=Ending(ended_at, how))
    except (NotYetKnown, BadEvidence):
        return None


def lesson_of(story: Story, finished: Evidence, profile: Profile) -> Lesson:
    """What a finished brood teaches, to as many digits as mean something: the same on every machine."""
    return _rounded(lesson(story.brood.id, story.male.id, believe(finished, profile), finished, profile))


def _rounded(one: Lesson) -> Lesson:
    return replace(
        one,
        hatch=tuple(round(share, DECIMALS) for share in one.hatch),
        mouth=tuple(round(share, DECIMALS) for share in one.mouth),
        early=round(one.early, DECIMALS),
        hatch_days=round(one.hatch_days, DECIMALS),
        mouth_days=round(one.mouth_days, DECIMALS) if one.mouth_days is not None else None,
    )


def lessons_for(db: sa.Connection, household_id: str, species: str, brood_id: str) -> tuple[Lesson, ...]:
    """What all other broods of the household and the species have taught, in the order of their ids."""
    table = tables.lesson
    mine = (table.c.household_id == household_id, table.c.species == species, table.c.brood_id != brood_id)
    rows = db.execute(sa.select(table).where(*mine).order_by(table.c.brood_id))
    return tuple(_read(json.loads(row.body)) for row in rows)


def _read(body: dict[str, Any]) -> Lesson:
    return Lesson(**body | {name: tuple(body[name]) for name in ("hatch", "mouth")})


def keep_lesson(
    db: sa.Connection, household_id: str, brood_id: str, species: str, one: Lesson | None, now: datetime
) -> None:
    """Put the lesson in the place of what the brood taught before; where it changed, ask for who leans on it."""
    key = {"household_id": household_id, "brood_id": brood_id}
    table = tables.lesson
    before = db.execute(sa.select(table.c.species, table.c.body).filter_by(**key)).one_or_none()
    text = canonical(asdict(one)) if one else None
    if (before.body if before else None) == text and (not before or before.species == species):
        return
    if text is None:
        db.execute(sa.delete(table).filter_by(**key))
    else:
        db.execute(upserting(db, table).values(**key, species=species, body=text))
    touched = {species, *([before.species] if before else [])}
    ask_for_broods(db, _leaning(db, household_id, touched, brood_id), now)


def _leaning(db: sa.Connection, household_id: str, species: Iterable[str], but: str) -> Iterable[tuple[str, str]]:
    return [(household_id, brood) for brood in broods_of_species(db, household_id, set(species)) if brood != but]

