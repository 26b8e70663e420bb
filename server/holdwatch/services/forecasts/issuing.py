"""Issues forecasts: reads the story, computes outside of any transaction, then keeps the result and its duties."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime

import sqlalchemy as sa

from ...domain.forecast import Evidence
from ...domain.learning import Lesson
from ...domain.species import Profile
from ...records.instants import milliseconds
from ...records.merge import canonical
from ...store import tables
from ...store.database import reading, writing
from ...store.upsert import inserting
from .. import duties
from ..derived import derived_body, put_derived, raise_revision
from ..due import FAULTS
from ..watched_nurseries import ask_about_batches_of
from .ageing import grows_old_at, note_ageing
from .body import Body, forecast_body, issued_at, no_forecast
from .lessons import keep_lesson, lesson_of, lessons_for, read_finished
from .story import NotYetKnown, Story, read_story

Profiles = Mapping[str, Profile]

FAILED = "The forecast could not be worked out from what was written down. The looks are kept; the log says more."

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Asked:
    """A brood whose forecast is out of date."""

    household_id: str
    brood_id: str
    asked_at: int


@dataclass(frozen=True)
class Known:
    """A brood's story, what it left if it is over, and what the household's other broods have taught."""

    story: Story
    profile: Profile | None = None
    finished: Evidence | None = None
    lessons: tuple[Lesson, ...] = ()

    def lesson(self) -> Lesson | None:
        """What this brood teaches; None while it is under way."""
        return lesson_of(self.story, self.finished, self.profile) if self.finished and self.profile else None


def issue_asked(engine: sa.Engine, profiles: Profiles, now: datetime, limit: int = 50) -> int:
    """Issue anew what was asked for, oldest first; how many there were."""
    table = tables.recompute
    query = sa.select(table).order_by(table.c.asked_at, table.c.brood_id).limit(limit)
    with reading(engine) as db:
        asked = [Asked(row.household_id, row.brood_id, row.asked_at) for row in db.execute(query)]
    for one in asked:
        # What another brood taught meanwhile may have asked for this one again.
        if still := _still_asked(engine, one):
            _issue_or_set_aside(engine, profiles, still, now)
    return len(asked)


def _still_asked(engine: sa.Engine, one: Asked) -> Asked | None:
    key = {"household_id": one.household_id, "brood_id": one.brood_id}
    with reading(engine) as db:
        asked_at = db.scalar(sa.select(tables.recompute.c.asked_at).filter_by(**key))
    return Asked(**key, asked_at=asked_at) if asked_at is not None else None


def _issue_or_set_aside(engine: sa.Engine, profiles: Profiles, asked: Asked, now: datetime) -> None:
    """One brood that our arithmetic cannot cope with keeps no other from its forecast, and no duty from being told."""
    try:
        issue_one(engine, profiles, asked, now)
    except FAULTS as fault:
        log.error("brood %s: its forecast failed by a fault of the program", asked.brood_id, exc_info=fault)
        with writing(engine) as db:
            _keep(db, asked, None, no_forecast(asked.brood_id, FAILED), now)


def issue_one(engine: sa.Engine, profiles: Profiles, asked: Asked, now: datetime) -> None:
    """Issue one brood's forecast and plan its duties anew."""
    with reading(engine) as db:
        previous = derived_body(db, asked.household_id, "forecast", asked.brood_id)
        try:
            story = read_story(db, asked.household_id, asked.brood_id, now)
        except NotYetKnown as missing:
            known, body = None, no_forecast(asked.brood_id, str(missing))
        else:
            known = _known(db, asked, story, profiles, now)
    lesson = None
    if known:
        body, lesson = forecast_body(known.story, profiles, previous, now, known.lessons), known.lesson()
    with writing(engine) as db:
        _keep(db, asked, known, body, now, lesson)


def _known(db: sa.Connection, asked: Asked, story: Story, profiles: Profiles, now: datetime) -> Known:
    profile = profiles.get(species := story.male.value("species") or "")
    if profile is None:
        return Known(story)
    finished = read_finished(db, asked.household_id, story, profile, now)
    return Known(story, profile, finished, lessons_for(db, asked.household_id, species, asked.brood_id))


def _keep(
    db: sa.Connection, asked: Asked, known: Known | None, body: Body, now: datetime, lesson: Lesson | None = None
) -> None:
    if not _take_request_away(db, asked):
        return
    story = known.story if known else None
    put_derived(db, asked.household_id, "forecast", asked.brood_id, body)
    taken_away = story.taken_away() if story else None
    note_ageing(db, asked.household_id, asked.brood_id, None if taken_away else grows_old_at(body, now))
    if known and story:
        rearing = known.profile.rearing if known.profile else None
        species = story.male.value("species") or ""
        keep_lesson(db, asked.household_id, asked.brood_id, species, lesson, now)
        duties.plan(db, asked.household_id, story, body, now, rearing)
        ask_about_batches_of(db, asked.household_id, asked.brood_id, now)
        _remember(db, asked, story, body)


def _take_request_away(db: sa.Connection, asked: Asked) -> bool:
    """Whether it was still there: another worker may have answered it, or a change have asked anew since.

    The household's row is locked first, as in every transaction that writes for a household: in another order two of
    them could wait for each other for ever.
    """
    raise_revision(db, asked.household_id, by=0)
    return db.execute(sa.delete(tables.recompute).filter_by(**asdict(asked))).rowcount == 1


def _remember(db: sa.Connection, asked: Asked, story: Story, body: Body) -> None:
    """Every issued forecast is kept with the revision that it was made from, and never overwritten.

    But for what each finding would have meant: nearly half of its length, and of no use once the looks were made.
    """
    issued = issued_at(body)
    if issued is None:
        return
    row = {
        "household_id": asked.household_id,
        "brood_id": asked.brood_id,
        "issued_at": milliseconds(issued),
        "from_revision": story.revision,
        "body": canonical({name: value for name, value in body.items() if name != "if_seen"}),
    }
    db.execute(inserting(db, tables.issued_forecast).on_conflict_do_nothing(), [row])
