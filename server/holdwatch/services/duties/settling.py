"""What became of a delivery, from what each phone's push service answered."""

from __future__ import annotations

import json
import logging
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache, partial
from typing import Any, Literal

import sqlalchemy as sa

from ...channels.message import Address, Outcome
from ...records.instants import milliseconds
from ...store.tables import delivery, push_subscription
from .addresses import MAIL
from .claiming import Claimed, is_named, named
from .wishes import NO_WISH, Wish, waits_until, wishes_of

State = Literal["sent", "waiting", "no_way"]
Answers = Sequence[tuple[Address, Outcome]]

FIRST_WAIT = timedelta(seconds=30)
LONGEST_WAIT = timedelta(minutes=15)
# Whatever a push service asks for: a phone of somebody's own choosing must not put a night off for ever.
LONGEST_ASKED_SECONDS = 3600.0
# Somebody who runs the server must mend something first.
REFUSED_WAIT = timedelta(hours=1)
NO_WAY = "no phone of this person gets reminders"

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Settled:
    """A delivery's next state; `wait` is until it is tried again."""

    state: State
    reached: tuple[str, ...]
    wait: timedelta
    trouble: str | None


def settled(claimed: Claimed, answers: Answers) -> Settled:
    """Judge all phones of one person together."""
    reached = claimed.reached + tuple(address.id for address, outcome in answers if outcome.result == "sent")
    later = [outcome for _, outcome in answers if outcome.result == "later"]
    refused = [outcome for _, outcome in answers if outcome.result == "refused"]
    trouble = next((outcome.detail for outcome in later + refused), None)
    if later:
        asked = timedelta(seconds=min(max(outcome.retry_after_seconds for outcome in later), LONGEST_ASKED_SECONDS))
        return Settled("waiting", reached, max(asked, _back_off(claimed.tries)), trouble)
    if reached:
        return Settled("sent", reached, timedelta(0), trouble)
    if refused:
        return Settled("waiting", reached, REFUSED_WAIT, trouble)
    return Settled("no_way", reached, timedelta(0), NO_WAY)


def settle(db: sa.Connection, handed: Sequence[tuple[Claimed, Answers]], now: datetime) -> list[State]:
    """Write down what became of these deliveries and of the phones' subscriptions."""
    outcomes = [settled(claimed, answers) for claimed, answers in handed]
    if handed:
        wishes = cache(partial(wishes_of, db))
        both = zip((claimed for claimed, _ in handed), outcomes, strict=True)
        rows = [_row(claimed, outcome, _again_at(claimed, outcome, wishes, now)) for claimed, outcome in both]
        if db.execute(_write(), rows).rowcount != len(rows):
            names = ", ".join(claimed.kept.duty.key for claimed, _ in handed)
            log.warning("a lease ended before its message was handed over, which may arrive twice: one of %s", names)
    answered = [(claimed.key, address, answer) for claimed, answers in handed for address, answer in answers]
    for key, _, answer in answered:
        if answer.result == "refused":
            log.error("%s: somebody must look after this server: %s", key["channel"], answer.detail)
    _settle_subscriptions(db, [one for one in answered if one[0]["channel"] != MAIL])
    return [outcome.state for outcome in outcomes]


def _again_at(
    claimed: Claimed, outcome: Settled, wishes: Callable[[str], Mapping[str, Wish]], now: datetime
) -> datetime:
    """When it is tried again: not in its person's quiet hours, though it was first tried before they began."""
    again_at = now + outcome.wait
    if outcome.state != "waiting":
        return again_at
    wish = wishes(claimed.key["household_id"]).get(claimed.key["person_id"], NO_WISH)
    return waits_until(wish, claimed.kept.duty.kind, again_at) or again_at


def _row(claimed: Claimed, outcome: Settled, again_at: datetime) -> dict[str, Any]:
    return {
        **named(claimed.key),
        "held_by": claimed.lease_by,
        "held_until": claimed.lease_until,
        "became": outcome.state,
        "has_reached": json.dumps(outcome.reached),
        "again_at": milliseconds(again_at),
        "told": outcome.trouble,
    }


@cache
def _write() -> sa.Update:
    mine = (delivery.c.lease_by == sa.bindparam("held_by"), delivery.c.lease_until == sa.bindparam("held_until"))
    values: dict[str, Any] = {
        "state": sa.bindparam("became"),
        "reached": sa.bindparam("has_reached"),
        "next_at": sa.bindparam("again_at"),
        "trouble": sa.bindparam("told"),
        "lease_until": None,
        "lease_by": None,
    }
    return sa.update(delivery).where(is_named(), *mine).values(values)


def _settle_subscriptions(db: sa.Connection, answered: Sequence[tuple[Any, Address, Outcome]]) -> None:
    """Write the latest answer to each phone down, and forget phones that are gone.

    In one order and only where it changes something: two workers that write to the same phones wait for no row that
    the other one holds while he waits for theirs.
    """
    latest = {(key["household_id"], address.id, address.endpoint): answer for key, address, answer in answered}
    phones = [(_the_one(*phone), answer) for phone, answer in sorted(latest.items(), key=lambda one: one[0])]
    if phones:
        news = [{**phone, "told": None if told.result == "sent" else told.detail} for phone, told in phones]
        db.execute(_tell_trouble(), news)
    gone = [phone for phone, answer in phones if answer.result == "gone"]
    if gone:
        db.execute(sa.delete(push_subscription).where(_is_the_one()), gone)


def _the_one(household_id: str, session_id: str, endpoint: str) -> dict[str, str]:
    return {"of_household": household_id, "of_session": session_id, "at_endpoint": endpoint}


def _is_the_one() -> sa.ColumnElement[bool]:
    """Only as long as it is the very one that was written to: the phone may have sent a new one meanwhile."""
    table = push_subscription.c
    return sa.and_(
        table.household_id == sa.bindparam("of_household"),
        table.session_id == sa.bindparam("of_session"),
        table.endpoint == sa.bindparam("at_endpoint"),
    )


@cache
def _tell_trouble() -> sa.Update:
    told = sa.bindparam("told", type_=sa.Text)
    changed = push_subscription.c.trouble.is_distinct_from(told)
    return sa.update(push_subscription).where(_is_the_one(), changed).values(trouble=told)


def _back_off(tries: int) -> timedelta:
    return min(FIRST_WAIT * 2 ** min(tries - 1, 10), LONGEST_WAIT)
