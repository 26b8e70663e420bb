"""One round of the loop: queue what is due, claim it bit by bit, and hand it over outside of any transaction."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import astuple, dataclass, field, replace
from datetime import datetime, timedelta
from time import monotonic

import sqlalchemy as sa

from ...channels.message import Address, Channel, Outcome
from ...channels.words import message_of
from ...store.database import writing
from .claiming import Claimed, claim, drop_useless
from .mornings import queue_mornings
from .news import queue_news
from .queue import queue_due
from .settling import Answers, State, settle

HANDS = 8
"""Messages that are handed over at once: nearly all of their time is waiting for somebody else's server."""
MESSAGES_A_ROUND = 200
LONGEST_FOR_ONE_SECONDS = 60.0
SENDING_A_ROUND = timedelta(seconds=30)
"""After so long the other work of a round has its turn again, however slow push services are."""


@dataclass(frozen=True)
class WorkDone:
    """What one round did; false if there was nothing to do."""

    queued: int = 0
    dropped: int = 0
    sent: int = 0
    put_off: int = 0
    no_way: int = 0
    looked_at: int = field(default=0, compare=False)
    """Duties and summaries whose time to be looked at had come, told or not: more may be waiting behind them."""

    def __bool__(self) -> bool:
        return any(astuple(self))


def work(engine: sa.Engine, now: datetime, channels: Mapping[str, Channel], worker_name: str) -> WorkDone:
    """Send what is due; any number of workers may run.

    A worker that is killed has those repeated, at worst, that it had in its hands: they are free again when its lease
    ends.
    """
    clock = _running(now)
    with writing(engine) as db:
        dropped = drop_useless(db, now)
        queued = queue_news(db, channels, now)
        mornings = queue_mornings(db, now)
        told, looked_at = queue_due(db, channels, now)
        claimed = claim(db, channels, worker_name, now, HANDS)
    states: list[State] = []
    with ThreadPoolExecutor(HANDS, thread_name_prefix="sending") as hands:
        while claimed:
            answers = [hands.submit(_send, one, channels, clock()) for one in claimed]
            faults = [fault for answer in answers if (fault := answer.exception()) is not None]
            with writing(engine) as db:
                both = zip(claimed, answers, strict=True)
                handed = [(one, answer.result()) for one, answer in both if answer.exception() is None]
                states += settle(db, handed, clock())
            more = not faults and len(states) < MESSAGES_A_ROUND and clock() < now + SENDING_A_ROUND
            # Apart: what went out must not be undone by anything that goes wrong from here on.
            with writing(engine) as db:
                claimed = claim(db, channels, worker_name, clock(), HANDS if more else 0)
            # A fault of ours in one message must not have the others sent again.
            for fault in faults:
                raise fault
    return WorkDone(
        queued=queued + told,
        dropped=dropped,
        sent=states.count("sent"),
        put_off=states.count("waiting"),
        no_way=states.count("no_way"),
        looked_at=mornings + looked_at,
    )


def _send(claimed: Claimed, channels: Mapping[str, Channel], now: datetime) -> Answers:
    kept = claimed.kept
    told = claimed.summary or message_of(kept.duty, kept.zone, now, claimed.key["matter"], kept.was_due_at)
    message = replace(told, link_path=claimed.link_path)
    channel, begun = channels[claimed.key["channel"]], monotonic()

    def send(address: Address) -> Outcome:
        # Nobody's phones may take so long that the lease of others', handed over beside them, ends.
        is_late = monotonic() - begun > LONGEST_FOR_ONE_SECONDS
        return Outcome("later", "the others took too long") if is_late else channel.send(address, message, now)

    return [(address, send(address)) for address in claimed.addresses]


def _running(now: datetime) -> Callable[[], datetime]:
    """`now` as it goes on during the round: a slow push service must not shorten the next lease."""
    start = monotonic()
    return lambda: now + timedelta(seconds=monotonic() - start)
