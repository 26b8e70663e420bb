"""The queue of deliveries: our own table, so that planning and queueing are safe in one database.

A delivery's key is (duty, version, person, channel, matter): it tells that a duty is *due*, or *again* where its person
had put it off, or what became of one that he was told of (`news.py`). It is `waiting` until it is `sent`, or `dropped`
because the duty has lost its use, or `no_way` while its person has no phone that gets reminders.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from datetime import date, datetime
from functools import cache, partial
from typing import Any, NamedTuple

import sqlalchemy as sa

from ...channels.message import AGAIN, DUE, MOVED
from ...domain.duties.turns import ASKED_BEFORE, IN_TURN, Asking, asking
from ...records.instants import milliseconds
from ...store.tables import delivery, duty, person
from ...store.upsert import inserting
from ..rota import households_with_turns, whose_turn
from .audience import LAID_DOWN, concerns, may_be_told, to_people
from .claiming import KEY
from .kept import Kept, kept
from .wishes import Wish, waits_until, wishes_of

DUTIES_A_ROUND = 200
NOBODY = frozenset[str]()


class Looked(NamedTuple):
    """A duty that the queue has looked at: its row, what it is, and whom to tell of it by now."""

    row: Any
    known: Kept
    step: Asking

    def is_telling(self) -> bool:
        """Whether there is anybody to tell, now or when he said *later* of it."""
        return self.step.whom != NOBODY or bool(self.known.duty.put_off)

    def waiting(self, now: datetime) -> set[str]:
        """Those who said *later*, and whose time is still to come."""
        return {person_id for person_id, until in self.known.duty.put_off if until > now}


def queue_due(db: sa.Connection, channels: Collection[str], now: datetime) -> tuple[int, int]:
    """Queue the deliveries of what people are to be told by now; of how many duties, and how many it looked at."""
    query = (
        sa.select(duty)
        .where(duty.c.queued.is_(False), duty.c.ask_at <= milliseconds(now))
        .order_by(duty.c.ask_at)
        .limit(DUTIES_A_ROUND)
        .with_for_update(skip_locked=True)
    )
    rows = db.execute(query).all()
    with_turns = households_with_turns(db, [row.household_id for row in rows]) if rows else NOBODY
    turns = cache(partial(whose_turn, db))
    looked = [_look_at(row, turns if row.household_id in with_turns else _nobodys, now)
              for row in rows if _is_standing(row, now)]  # fmt: skip
    telling = [one for one in looked if one.is_telling()]
    for channel in sorted(channels):
        _queue_by(db, telling, channel, now)
    wishes = cache(partial(wishes_of, db))
    for row, known, _ in telling:
        _heed(db, known, row.household_id, wishes(row.household_id), now)
    # What is over has nothing to tell, and is not looked at again either, unless it changes.
    next_at = {(row.household_id, row.key): step.next_at for row, _, step in looked}
    if rows:
        db.execute(_look_again(), [_next_look(row, next_at.get((row.household_id, row.key))) for row in rows])
    return len(telling), len(rows)


def _nobodys(household_id: str, day: date, at: datetime) -> frozenset[str]:
    """Whose turn it is where nobody has any."""
    return NOBODY


def _look_at(row: Any, turns: Callable[[str, date, datetime], frozenset[str]], now: datetime) -> Looked:
    known = kept(row)
    one = known.duty
    whose = turns(row.household_id, one.night, one.due_at) if one.kind in IN_TURN else NOBODY
    return Looked(row, known, asking(one, whose, now))


def _queue_by(db: sa.Connection, telling: Sequence[Looked], channel: str, now: datetime) -> None:
    """Queue by one channel: at once what everybody hears, and one by one what is for some."""
    everybodys = [one.row for one in telling if one.step.whom is None]
    if everybodys:
        db.execute(_insert_due(db, _are_among(everybodys), channel, None, now))
    for one in telling:
        mine, waiting = _are_among([one.row]), one.waiting(now)
        if one.step.whom:
            db.execute(_insert_due(db, mine, channel, one.step.whom, now))
        for person_id in sorted(one.step.again - waiting):
            db.execute(_insert_again(db, (*mine, _was_asked_early(channel)), channel, person_id, one.row.tell_at))
        for person_id, until in one.known.duty.put_off:
            db.execute(_insert_again(db, mine, channel, person_id, milliseconds(until)))
        if waiting:
            db.execute(_take_back_due(one.row, waiting))


def _take_back_due(row: Any, people: Collection[str]) -> sa.Delete:
    """Whoever put it off hears of it when he said, and not now that others do."""
    its = sa.delete(delivery).filter_by(household_id=row.household_id, duty_key=row.key, version=row.version)
    fresh = (delivery.c.matter == DUE, delivery.c.state == "waiting", delivery.c.tries == 0)
    return its.where(*fresh, delivery.c.person_id.in_(sorted(people)))


def _are_among(rows: Sequence[Any]) -> tuple[sa.ColumnElement[bool], ...]:
    keys = [(row.household_id, row.key) for row in rows]
    # By the pairs alone SQLite before 3.41 would look at every duty there is.
    near = duty.c.household_id.in_(sorted({row.household_id for row in rows}))
    return near, sa.tuple_(duty.c.household_id, duty.c.key).in_(keys)


def _next_look(row: Any, next_at: datetime | None) -> dict[str, Any]:
    ask_at = milliseconds(next_at) if next_at else row.ask_at
    return {"household": row.household_id, "its_key": row.key, "at": ask_at, "is_over": next_at is None}


@cache
def _look_again() -> sa.Update:
    mine = (duty.c.household_id == sa.bindparam("household"), duty.c.key == sa.bindparam("its_key"))
    return sa.update(duty).where(*mine).values(ask_at=sa.bindparam("at"), queued=sa.bindparam("is_over"))


def _is_standing(row: Any, now: datetime) -> bool:
    return row.withdrawn_at is None and row.done_at is None and row.until_at > milliseconds(now)


def _told_since(now: datetime) -> sa.ColumnElement[int]:
    """From when on it is enough to have heard of it: the time of telling or, while that is to come, of first asking."""
    first = duty.c.due_at - int(ASKED_BEFORE.total_seconds() * 1000)
    is_early = sa.and_(duty.c.kind.in_(sorted(IN_TURN)), duty.c.tell_at > milliseconds(now), first < duty.c.tell_at)
    return sa.case((is_early, first), else_=duty.c.tell_at)


def _was_asked_early(channel: str) -> sa.ColumnElement[bool]:
    """Whether the person was told of the duty, as it stands now, before it was time."""
    early = delivery.alias("early")
    return sa.exists().where(
        *(early.c[name] == duty.c[name] for name in ("household_id", "version")),
        *(early.c.duty_key == duty.c.key, early.c.person_id == person.c.person_id),
        *(early.c.channel == channel, early.c.matter == DUE, early.c.state == "sent", early.c.next_at < duty.c.tell_at),
    )


def _insert_due(
    db: sa.Connection, mine: tuple[Any, ...], channel: str, whom: Collection[str] | None, now: datetime
) -> Any:
    """A delivery for everybody it concerns, or for some of them, but for those who hear just now that it has moved."""
    hears = delivery.alias("hears")
    is_told = sa.exists().where(
        *(hears.c[name] == duty.c[name] for name in ("household_id", "version")),
        *(hears.c.duty_key == duty.c.key, hears.c.person_id == person.c.person_id),
        *(hears.c.channel == channel, hears.c.matter == MOVED, hears.c.next_at >= _told_since(now)),
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
        until = waits_until(wish, one.duty.kind, now)
        if until is None:
            continue
        fresh = (delivery.c.state == "waiting", delivery.c.tries == 0, delivery.c.next_at < milliseconds(until))
        his = sa.update(delivery).filter_by(
            household_id=household_id, duty_key=one.duty.key, version=one.version, person_id=person_id
        )
        db.execute(his.where(*fresh).values(next_at=milliseconds(until), trouble="quiet hours"))
