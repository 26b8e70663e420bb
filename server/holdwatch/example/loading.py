"""Loads the example household through the same services that people use."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from datetime import datetime, time, timedelta
from random import Random
from typing import Any
from zoneinfo import ZoneInfo

import sqlalchemy as sa

from ..config import Settings, load_profiles
from ..records.ids import RANDOM_BITS, record_id
from ..records.instants import instant_text, milliseconds
from ..records.stamps import Stamp
from ..services import access
from ..services.access import Founding, Phone, Who
from ..services.forecasts import issue_asked
from ..services.identity import new_identity
from ..services.nursery import watch_nurseries
from ..services.sync import Push, agree
from ..store.database import open_database, reading, writing
from ..store.migrate import migrate
from ..store.tables import household
from . import household as ours

SEED = 20261
DEVICE = "example0"
BATCH = 400
FOUNDED_DAYS_AGO = 120
FOOD_OPENED_DAYS_AGO = 40


@dataclass
class Notebook:
    """What is to be written, author by author, in the order of writing."""

    random: Random
    people: dict[str, Who]
    pages: dict[str, list[dict[str, Any]]] = field(default_factory=dict)

    def write(self, author: str, kind: str, written: datetime, **fields: Any) -> str:
        """Add a record written at that instant; its id."""
        made = record_id(milliseconds(written), self.random.getrandbits(RANDOM_BITS))
        stamp = str(Stamp(milliseconds(written), self.random.randrange(4096), DEVICE))
        given = {name: value for name, value in fields.items() if value is not None}
        change = {
            "id": made,
            "kind": kind,
            "author": self.people[author].person_id,
            "device": DEVICE,
            "fields": {name: {"value": value, "stamp": stamp, "was": None} for name, value in given.items()},
        }
        self.pages.setdefault(author, []).append(change)
        return made


class Settled(Exception):
    """Another household lives in this database; nothing was loaded."""


def load_example(settings: Settings, now: datetime) -> str:
    """Load the household into an empty database; what to tell whoever started it. Settled if another lives there."""
    engine = open_database(settings.database_url)
    try:
        migrate(engine, new_identity)
        if _is_empty(engine):
            _fill(engine, now)
    finally:
        engine.dispose()
    names = ", ".join(f"{person.login} ({person.role})" for person in ours.PEOPLE)
    return (
        f"The example household {ours.HOUSEHOLD}, all of it invented. Sign in as {names} "
        f"with the password {ours.PASSWORD}"
    )


def _is_empty(engine: sa.Engine) -> bool:
    """Whether nobody lives there; Settled where somebody else does."""
    with reading(engine) as db:
        names = db.scalars(sa.select(household.c.name)).all()
    if names and ours.HOUSEHOLD not in names:
        raise Settled("A household of your own lives in this database. Nothing was loaded; name an empty one.")
    return not names


def _fill(engine: sa.Engine, now: datetime) -> None:
    with writing(engine) as db:
        notebook = Notebook(Random(SEED), _move_in(db, now))
        _write_story(notebook, now)
        _hand_in(db, notebook, now)
        for who in notebook.people.values():
            access.close_session(db, who.household_id, who.session_id, now)
    profiles = load_profiles()
    # Again while any is asked for: what a finished brood teaches asks for those that lean on it.
    while issue_asked(engine, profiles, now):
        continue
    watch_nurseries(engine, profiles, now)


def _move_in(db: sa.Connection, now: datetime) -> dict[str, Who]:
    hashed = access.hash_password(ours.PASSWORD)
    owner, *others = ours.PEOPLE
    phone = Phone(DEVICE, "the example's own")
    founding = Founding(ours.HOUSEHOLD, owner.name, owner.login, hashed)
    opened = access.found_household(db, access.new_setup_code(db, now), founding, True, phone, now)
    people = {owner.name: opened.who}
    for person in others:
        invited = access.invite(db, opened.who, person.name, person.role, now)
        people[person.name] = access.join(db, str(invited.token), person.login, hashed, phone, now).who
    return people


def _write_story(notebook: Notebook, now: datetime) -> None:
    begun = now - timedelta(days=FOUNDED_DAYS_AGO)
    owner = ours.PEOPLE[0].name
    tanks = {
        tank.name: notebook.write(owner, "tank", begun, at=instant_text(begun), zone=ours.ZONE, **asdict(tank))
        for tank in ours.TANKS
    }
    males = {}
    for male in ours.MALES:
        facts = {**asdict(male), "species": "pterapogon_kauderni", "sex": "male"}
        facts["about"] = tanks[facts.pop("tank")]
        males[male.name] = notebook.write(owner, "fish", begun, at=instant_text(begun), **facts)
    for brood in ours.BROODS:
        _write_brood(notebook, brood, males[brood.male], now)
    _write_readings(notebook, tanks[ours.TANKS[0].name], now)
    opened = _local(now, -FOOD_OPENED_DAYS_AGO, "17:00")
    notebook.write(owner, "food", opened, at=instant_text(opened), **ours.TIN)


def _write_brood(notebook: Notebook, brood: ours.Brood, male_id: str, now: datetime) -> None:
    owner = ours.PEOPLE[0].name
    spawned = _local(now, -brood.spawned_days_ago, "20:00")
    end = _local(now, brood.ended_day - brood.spawned_days_ago, "22:40") if brood.ended else None
    caught = brood.ended == "caught"
    brood_id = notebook.write(
        owner,
        "brood",
        spawned + timedelta(hours=1),
        about=male_id,
        at=instant_text(spawned),
        not_before=instant_text(spawned - timedelta(days=3)),
        ended=brood.ended,
        ended_at=instant_text(end) if end else None,
        kept=brood.kept,
    )
    if brood.spawning_seen:
        mark = {"what": "spawning", "at_error_min": 45}
        notebook.write(owner, "mark", spawned, about=brood_id, at=instant_text(spawned), **mark)
    if brood.ended is None:
        _write_feedings(notebook, male_id, brood.spawned_days_ago, now)
    for at, seen in _seen_by(brood, now):
        facts = {"about": brood_id, "at": instant_text(at), "light": seen.light, "note": seen.note, **seen.parts}
        notebook.write(seen.by, "look", at, **facts)
    if caught and end and brood.counts:
        eggs, yolk, free = brood.counts
        counts = {"what": "caught", "eggs": eggs, "yolk": yolk, "free": free}
        notebook.write(owner, "mark", end, about=brood_id, at=instant_text(end), **counts)
    if end and brood.batch:
        _write_batch(notebook, brood.batch, brood_id, end + timedelta(minutes=20))


def _write_batch(notebook: Notebook, batch: ours.Batch, brood_id: str, began: datetime) -> None:
    owner = ours.PEOPLE[0].name
    facts = asdict(batch)
    counts, weaned_after_days = facts.pop("counts"), facts.pop("weaned_after_days")
    over = began + timedelta(days=weaned_after_days)
    facts |= {"how": "exact", "ended": "weaned", "ended_at": instant_text(over)}
    batch_id = notebook.write(owner, "batch", began, about=brood_id, at=instant_text(began), **facts)
    for days, alive in counts:
        at = began + timedelta(days=days)
        notebook.write(owner, "count", at, about=batch_id, at=instant_text(at), alive=alive, how="exact")


def _write_feedings(notebook: Notebook, male_id: str, spawned_days_ago: int, now: datetime) -> None:
    for before in ours.FED_DAYS_BEFORE_SPAWNING:
        at = _local(now, -spawned_days_ago - before, "18:10")
        facts = {"took": "ate", "food": "frozen mysis, one level blue spoon"}
        notebook.write(ours.PEOPLE[0].name, "feeding", at, about=male_id, at=instant_text(at), **facts)


def _seen_by(brood: ours.Brood, now: datetime) -> Iterator[tuple[datetime, ours.Seen]]:
    """The looks with their instants, as far as they have happened."""
    for seen in brood.seen:
        at = _local(now, seen.day - brood.spawned_days_ago, seen.time)
        if at < now:
            yield at, seen


def _write_readings(notebook: Notebook, tank_id: str, now: datetime) -> None:
    owner = ours.PEOPLE[0].name
    for back, temperature in enumerate(reversed(ours.TEMPERATURES_C)):
        at = _local(now, -1 - 3 * back, "18:15")
        facts = {"temperature_c": temperature, "source": "typed"}
        notebook.write(owner, "reading", at, about=tank_id, at=instant_text(at), **facts)


def _hand_in(db: sa.Connection, notebook: Notebook, now: datetime) -> None:
    for author, page in notebook.pages.items():
        for start in range(0, len(page), BATCH):
            push = Push(page[start : start + BATCH], 0, 1, False)
            _take(db, notebook.people[author], push, now)


def _take(db: sa.Connection, who: Who, push: Push, now: datetime) -> None:
    refused = [verdict for verdict in agree(db, who, push, now).verdicts if verdict.verdict != "taken"]
    if refused:
        raise RuntimeError(f"The example is not well-formed: {refused[0].reason}")


def _local(now: datetime, days: int, clock: str) -> datetime:
    """The local time `clock` of the example's zone, so many days from today."""
    zone = ZoneInfo(ours.ZONE)
    day = now.astimezone(zone).date() + timedelta(days=days)
    return datetime.combine(day, time.fromisoformat(clock), tzinfo=zone)
