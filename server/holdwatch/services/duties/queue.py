"""The queue of deliveries: our own table, so that planning and queueing are safe in one database.

A delivery's key is (duty, version, person, channel, matter): it tells that a duty is *due*, or *again* where its person
had put it off, or what became of one that he was told of (`news.py`). It is `waiting` until it is `sent`, or `dropped`
because the duty has lost its use, or `no_way` while its person has no phone that gets reminders.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cache, partial
from typing import Any

import sqlalchemy as sa

from ...channels.message import AGAIN, DUE, MOVED, WITHDRAWN, Address, Message
from ...channels.words import MORNING, URGENT
from ...domain.duties.turns import ASKED_BEFORE, IN_TURN, Asking, asking
from ...records.instants import milliseconds
from ...store.tables import delivery, duty, person
from ...store.upsert import inserting
from ..rota import whose_turn
from .addresses import MAIL, addresses_of
from .audience import LAID_DOWN, concerns, may_be_told, to_people
from .kept import Kept, kept
from .links import make_link
from .mornings import summary
from .wishes import Wish, quiet_until, wishes_of

LEASE = timedelta(seconds=120)
DUTIES_A_ROUND = 200
NOBODY = frozenset[str]()
OVER = Asking(NOBODY, NOBODY, None)
KEY = ("household_id", "duty_key", "version", "person_id", "channel", "matter")


@dataclass(frozen=True)
class Claimed:
    """One delivery that is this worker's until its lease ends."""

    key: dict[str, Any]
    kept: Kept
    addresses: tuple[Address, ...]
    reached: tuple[str, ...]
    tries: int
    lease_until: int
    lease_by: str
    link_path: str = ""
    """Of the duty's own page for this person, where the channel needs one."""
    summary: Message | None = None
    """What a summary of the morning says."""


def queue_due(db: sa.Connection, channels: Collection[str], now: datetime) -> tuple[int, int]:
    """Queue the deliveries of what people are to be told by now; of how many duties, and how many it looked at."""
    query = (
        sa.select(duty)
        .where(duty.c.queued.is_(False), duty.c.ask_at <= milliseconds(now))
        .order_by(duty.c.ask_at)
        .limit(DUTIES_A_ROUND)
        .with_for_update(skip_locked=True)
    )
    # What is over has nothing to tell, and is not looked at again either, unless it changes.
    turns = cache(partial(whose_turn, db))
    steps = [(row, _step(row, turns, now) if _is_standing(row, now) else OVER) for row in db.execute(query).all()]
    told = [(row, step) for row, step in steps if step.whom != NOBODY or (step is not OVER and row.put_off != "{}")]
    for channel in sorted(channels):
        _queue_by(db, told, channel, now)
    wishes = cache(partial(wishes_of, db))
    for row, _ in told:
        _leave_to_their_time(db, row, now)
        _heed(db, kept(row), row.household_id, wishes(row.household_id), now)
    if steps:
        db.execute(_look_again(), [_look(row, step) for row, step in steps])
    return len(told), len(steps)


def _step(row: Any, turns: Callable[[str, date, datetime], frozenset[str]], now: datetime) -> Asking:
    one = kept(row).duty
    return asking(one, turns(row.household_id, one.night, one.due_at) if one.kind in IN_TURN else NOBODY, now)


def _queue_by(db: sa.Connection, told: Sequence[tuple[Any, Asking]], channel: str, now: datetime) -> None:
    """Queue by one channel: at once what everybody hears, and one by one what is for some."""
    everybodys = [row for row, step in told if step.whom is None]
    if everybodys:
        db.execute(_insert_due(db, _are_among(everybodys), channel, None, now))
    for row, step in told:
        mine = _are_among([row])
        if step.whom:
            db.execute(_insert_due(db, mine, channel, step.whom, now))
        for person_id in sorted(step.again - _waiting_for_their_time(row, now)):
            db.execute(_insert_again(db, (*mine, _was_asked_early(channel)), channel, person_id, row.tell_at))
        for person_id, until in json.loads(row.put_off).items():
            db.execute(_insert_again(db, mine, channel, person_id, until))


def _waiting_for_their_time(row: Any, now: datetime) -> set[str]:
    """Those who said *later*, and whose time is still to come."""
    return {person_id for person_id, until in json.loads(row.put_off).items() if until > milliseconds(now)}


def _leave_to_their_time(db: sa.Connection, row: Any, now: datetime) -> None:
    """Whoever put it off hears of it when he said, and not now that others do."""
    waiting = _waiting_for_their_time(row, now)
    if waiting:
        fresh = (delivery.c.matter == DUE, delivery.c.state == "waiting", delivery.c.tries == 0)
        its = sa.delete(delivery).filter_by(household_id=row.household_id, duty_key=row.key, version=row.version)
        db.execute(its.where(*fresh, delivery.c.person_id.in_(sorted(waiting))))


def _are_among(rows: Sequence[Any]) -> tuple[sa.ColumnElement[bool], ...]:
    keys = [(row.household_id, row.key) for row in rows]
    # By the pairs alone SQLite before 3.41 would look at every duty there is.
    near = duty.c.household_id.in_(sorted({row.household_id for row in rows}))
    return near, sa.tuple_(duty.c.household_id, duty.c.key).in_(keys)


def _look(row: Any, step: Asking) -> dict[str, Any]:
    ask_at = milliseconds(step.next_at) if step.next_at else row.ask_at
    return {"household": row.household_id, "its_key": row.key, "at": ask_at, "is_over": step.next_at is None}


@cache
def _look_again() -> sa.Update:
    mine = (duty.c.household_id == sa.bindparam("household"), duty.c.key == sa.bindparam("its_key"))
    return sa.update(duty).where(*mine).values(ask_at=sa.bindparam("at"), queued=sa.bindparam("is_over"))


def _is_standing(row: Any, now: datetime) -> bool:
    return row.withdrawn_at is None and row.done_at is None and row.until_at > milliseconds(now)


def drop_useless(db: sa.Connection, now: datetime) -> int:
    """Let go of deliveries whose duty is done, withdrawn, moved, over or another's; how many they were."""
    at = milliseconds(now)
    useful = sa.exists().where(_same_duty(), _is_of_use(at))
    here = sa.exists().where(_same_person(delivery.c.person_id), person.c.removed_at.is_(None))
    statement = (
        sa.update(delivery)
        .where(delivery.c.state == "waiting", _free(at), sa.not_(sa.and_(useful, here)))
        .values(
            # One of his phones has it: then it was sent, though another one never got it.
            state=sa.case((delivery.c.reached != "[]", "sent"), else_="dropped"),
            lease_until=None,
            lease_by=None,
            trouble=sa.func.coalesce(delivery.c.trouble, "no longer of use"),
        )
    )
    return db.execute(statement).rowcount


def claim(db: sa.Connection, channels: Collection[str], worker_name: str, now: datetime, most: int) -> list[Claimed]:
    """Take the next deliveries, at most so many, for this worker until the lease ends."""
    asked = {"now": milliseconds(now), "channels": sorted(channels), "most": most}
    due = db.execute(_next(), asked).all() if most > 0 else []
    if not due:
        return []
    until = milliseconds(now + LEASE)
    # They were locked as they were found: nobody has taken one of them since.
    db.execute(_take(), [{**named(_key(row)), "until": until, "by": worker_name} for row in due])
    known = addresses_of(db, {(row.household_id, row.person_id, row.channel) for row in due})
    # Links are cleared away by households: in one order, so that no two workers wait for each other.
    return [
        _claimed(db, row, known.get((row.household_id, row.person_id, row.channel), ()), until, worker_name, now)
        for row in sorted(due, key=lambda row: row.household_id)
    ]


def _claimed(
    db: sa.Connection, row: Any, known: tuple[Address, ...], until: int, worker_name: str, now: datetime
) -> Claimed:
    reached, one = tuple(json.loads(row.reached)), kept(row)
    addresses = tuple(address for address in known if address.id not in reached)
    told = summary(db, row.household_id, one, now) if row.kind == MORNING else None
    # A letter is read where nobody is signed in.
    wants_link = row.channel == MAIL and addresses and told is None
    link = make_link(db, row.household_id, row.person_id, one.duty, now) if wants_link else ""
    return Claimed(_key(row), one, addresses, reached, row.tries + 1, until, worker_name, link, told)


def _key(row: Any) -> dict[str, Any]:
    return {name: getattr(row, name) for name in KEY}


def is_named() -> sa.ColumnElement[bool]:
    """Whether a delivery is the one whose key the parameters of `named` give."""
    return sa.and_(*(delivery.c[name] == sa.bindparam(f"its_{name}") for name in KEY))


def named(key: Mapping[str, Any]) -> dict[str, Any]:
    """A delivery's key as parameters for `is_named`."""
    return {f"its_{name}": value for name, value in key.items()}


# Statements that are run again and again are made once: SQLAlchemy takes longer to make one than SQLite to run it.
@cache
def _take() -> sa.Update:
    lease = {"lease_until": sa.bindparam("until"), "lease_by": sa.bindparam("by"), "tries": delivery.c.tries + 1}
    return sa.update(delivery).where(is_named()).values(lease)


@cache
def _next() -> sa.Select:
    wanted = [column for column in duty.c if column.name not in ("household_id", "version")]
    now = sa.bindparam("now", type_=sa.BigInteger)
    return (
        sa.select(*(delivery.c[name] for name in KEY), delivery.c.tries, delivery.c.reached, *wanted)
        .join(duty, _same_duty())
        .where(
            delivery.c.state == "waiting",
            delivery.c.next_at <= now,
            delivery.c.channel.in_(sa.bindparam("channels", expanding=True)),
            _free(now),
            _is_of_use(now),
        )
        .order_by(delivery.c.next_at)
        .limit(sa.bindparam("most", type_=sa.Integer))
        .with_for_update(of=delivery, skip_locked=True)
    )


def _first_asked_at() -> sa.ColumnElement[int]:
    """As `first_asked_at` of a duty, where it stands."""
    before = duty.c.due_at - int(ASKED_BEFORE.total_seconds() * 1000)
    is_early = sa.and_(duty.c.kind.in_(sorted(IN_TURN)), before < duty.c.tell_at)
    return sa.case((is_early, before), else_=duty.c.tell_at)


def _was_asked_early(channel: str) -> sa.ColumnElement[bool]:
    """Whether the person was told of the duty, as it stands now, before it was time."""
    early = delivery.alias("early")
    return sa.exists().where(
        *(early.c[name] == duty.c[name] for name in ("household_id", "version")),
        *(early.c.duty_key == duty.c.key, early.c.person_id == person.c.person_id),
        *(early.c.channel == channel, early.c.matter.in_([DUE, MOVED]), early.c.state == "sent"),
        *(early.c.next_at >= _first_asked_at(), early.c.next_at < duty.c.tell_at),
    )


def _insert_due(
    db: sa.Connection, mine: tuple[Any, ...], channel: str, whom: Collection[str] | None, now: datetime
) -> Any:
    """A delivery for everybody it concerns, or for some of them, but for those who hear just now that it has moved."""
    hears = delivery.alias("hears")
    is_told = sa.exists().where(
        *(hears.c[name] == duty.c[name] for name in ("household_id", "version")),
        *(hears.c.duty_key == duty.c.key, hears.c.person_id == person.c.person_id),
        *(hears.c.channel == channel, hears.c.matter == MOVED, hears.c.next_at >= _first_asked_at()),
    )
    asked = () if whom is None else (person.c.person_id.in_(sorted(whom)),)
    told = (*mine, *asked, concerns(person.c.person_id), may_be_told(now), sa.not_(is_told))
    people = to_people(channel, DUE, milliseconds(now)).where(*told)
    again = {"state": "waiting", "next_at": milliseconds(now), "trouble": None}
    return (
        inserting(db, delivery)
        .from_select(LAID_DOWN, people)
        .on_conflict_do_update(index_elements=list(KEY), set_=again, where=delivery.c.state == "dropped")
    )


def _insert_again(db: sa.Connection, mine: tuple[Any, ...], channel: str, person_id: str, until: int) -> Any:
    """One more delivery for whoever put it off, at the time that he named."""
    his = to_people(channel, f"{AGAIN} {until}", until).where(*mine, person.c.person_id == person_id)
    return inserting(db, delivery).from_select(LAID_DOWN, his.where(duty.c.until_at > until)).on_conflict_do_nothing()


def heed_quiet(db: sa.Connection, one: Kept, household_id: str, now: datetime) -> None:
    """Let what was queued just now wait for the end of each person's quiet hours, where he has some at this time."""
    _heed(db, one, household_id, wishes_of(db, household_id), now)


def _heed(db: sa.Connection, one: Kept, household_id: str, wishes: Mapping[str, Wish], now: datetime) -> None:
    for person_id, wish in wishes.items():
        until = quiet_until(wish, now)
        if until is None or (wish.catch_breaks_quiet and one.duty.kind in URGENT):
            continue
        fresh = (delivery.c.state == "waiting", delivery.c.tries == 0, delivery.c.next_at < milliseconds(until))
        his = sa.update(delivery).filter_by(
            household_id=household_id, duty_key=one.duty.key, version=one.version, person_id=person_id
        )
        db.execute(his.where(*fresh).values(next_at=milliseconds(until), trouble="quiet hours"))


def _is_of_use(at: Any) -> Any:
    """Whether a delivery's person should hear of the duty: that one was withdrawn, whatever else holds of it."""
    withdrawn = sa.and_(duty.c.withdrawn_at.is_not(None), duty.c.until_at > at)
    stands = sa.and_(duty.c.withdrawn_at.is_(None), duty.c.done_at.is_(None), duty.c.until_at > at)
    concerned = sa.and_(stands, concerns(delivery.c.person_id))
    return sa.case((delivery.c.matter == WITHDRAWN, withdrawn), else_=concerned)


def _same_duty() -> Any:
    return sa.and_(
        duty.c.household_id == delivery.c.household_id,
        duty.c.key == delivery.c.duty_key,
        duty.c.version == delivery.c.version,
    )


def _same_person(person_id: Any) -> Any:
    return sa.and_(person.c.household_id == delivery.c.household_id, person.c.person_id == person_id)


def _free(at: Any) -> Any:
    return sa.or_(delivery.c.lease_until.is_(None), delivery.c.lease_until <= at)
