"""What became of a delivery, from what each phone's push service answered."""

from __future__ import annotations

import json
import logging
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Literal

import sqlalchemy as sa

from ...channels.message import Address, Outcome
from ...records.instants import milliseconds
from ...store.tables import delivery, push_subscription
from .addresses import MAIL
from .queue import Claimed

State = Literal["sent", "waiting", "no_way"]
Answers = Sequence[tuple[Address, Outcome]]

FIRST_WAIT = timedelta(seconds=30)
LONGEST_WAIT = timedelta(minutes=15)
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
        asked = timedelta(seconds=max(outcome.retry_after_seconds for outcome in later))
        return Settled("waiting", reached, max(asked, _back_off(claimed.tries)), trouble)
    if reached:
        return Settled("sent", reached, timedelta(0), trouble)
    if refused:
        return Settled("waiting", reached, REFUSED_WAIT, trouble)
    return Settled("no_way", reached, timedelta(0), NO_WAY)


def settle(db: sa.Connection, claimed: Claimed, answers: Answers, now: datetime) -> State:
    """Write down what became of the delivery and of the phones' subscriptions."""
    outcome = settled(claimed, answers)
    mine = sa.and_(delivery.c.lease_by == claimed.lease_by, delivery.c.lease_until == claimed.lease_until)
    values: dict[str, Any] = {
        "state": outcome.state,
        "reached": json.dumps(outcome.reached),
        "next_at": milliseconds(now + outcome.wait),
        "trouble": outcome.trouble,
        "lease_until": None,
        "lease_by": None,
    }
    written = db.execute(sa.update(delivery).filter_by(**claimed.key).where(mine).values(**values))
    if written.rowcount != 1:
        log.warning("the lease of %s ended before it was handed over; it may arrive twice", claimed.kept.duty.key)
    for address, answer in answers:
        if answer.result == "refused":
            log.error("%s: somebody must look after this server: %s", claimed.key["channel"], answer.detail)
        if claimed.key["channel"] != MAIL:
            _settle_subscription(db, claimed.key["household_id"], address, answer)
    return outcome.state


def _settle_subscription(db: sa.Connection, household_id: str, address: Address, outcome: Outcome) -> None:
    table = push_subscription
    # Only as long as it is the very one that was written to: the phone may have sent a new one meanwhile.
    mine = (
        table.c.household_id == household_id,
        table.c.session_id == address.id,
        table.c.endpoint == address.endpoint,
    )
    if outcome.result == "gone":
        db.execute(sa.delete(table).where(*mine))
        return
    trouble = None if outcome.result == "sent" else outcome.detail
    db.execute(sa.update(table).where(*mine).values(trouble=trouble))


def _back_off(tries: int) -> timedelta:
    return min(FIRST_WAIT * 2 ** min(tries - 1, 10), LONGEST_WAIT)
