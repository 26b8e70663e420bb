"""A household with a brood under way and phones that get reminders, for the tests of the queue."""

from __future__ import annotations

import threading
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from domain.hold import BROOD, LAMPS_ON, LAMPS_OUT, ZONE, outlook
from holdwatch.channels.message import Address, Message, Outcome
from holdwatch.domain.duties import Duty
from holdwatch.records.instants import instant_text
from holdwatch.services import duties
from holdwatch.services.access import Opened, Who
from holdwatch.services.derived import raise_revision
from holdwatch.services.duties.kept import read_kept, renewed, write_kept
from holdwatch.services.sync.stored import Stored
from holdwatch.store import tables
from holdwatch.store.database import reading, writing


@dataclass
class Told:
    """A brood's story as the plan reads it."""

    id_: str = BROOD
    looks: tuple[Stored, ...] = ()
    unsure: tuple[Stored, ...] = ()
    marks: tuple[Stored, ...] = ()
    end: str | None = None
    end_at: datetime | None = None
    gone: bool = False
    feedings: tuple[Stored, ...] = ()
    earlier: tuple[Stored, ...] = ()
    earlier_catches: tuple[Stored, ...] = ()

    @property
    def brood(self) -> Stored:
        return record(self.id_, "brood", "ada", gone=self.gone)

    @property
    def tank(self) -> Stored:
        return record("t1", "tank", "ada", zone=str(ZONE))

    def ended(self) -> str | None:
        return "mistake" if self.gone else self.end

    def ended_at(self) -> datetime | None:
        return self.end_at

    def taken_away(self) -> str | None:
        return None


def record(id_: str, kind: str, author: str, stamp: str = "1764061800000.0000.ab12cd34", **fields: Any) -> Stored:
    """A record as the database gives it."""
    return Stored(id_, kind, author, "ab12cd34", fields, dict.fromkeys(fields, (stamp, None, None, 0)))


def body(now: datetime, **changes: Any) -> dict[str, Any]:
    """A forecast as it comes down to phones, as far as a plan reads it."""
    seen = outlook(now, **changes)
    chances = {"eyed": 0.0, "held_young": 0.0, "releasing": 0.0, "released": 0.0, "lost": seen.lost}
    return {
        "error": None,
        "zone": str(ZONE),
        "lamps_out": f"{LAMPS_OUT:%H:%M}",
        "lamps_on": f"{LAMPS_ON:%H:%M}",
        "nights": [{"night": n.night.isoformat(), "eggs": n.holding, **chances} for n in seen.nights],
        "hatched": {"q05": instant_text(seen.hatch_q05), "q10": instant_text(seen.hatch_q10)},
        "now": {"eggs": 1 - seen.lost, **chances},
        "catch": {"night": seen.catch.isoformat()} if seen.catch else None,
    }


def plan(engine: sa.Engine, who: Who, told: Told, forecast: dict[str, Any], now: datetime) -> list[dict[str, Any]]:
    """Plan in a transaction of its own, as issuing a forecast does."""
    with writing(engine) as db:
        raise_revision(db, who.household_id)
        return duties.plan(db, who.household_id, told, forecast, now)["duties"]


def keep(engine: sa.Engine, household_id: str, *wanted: Duty) -> None:
    """Keep these duties as a plan would."""
    with writing(engine) as db:
        before = read_kept(db, household_id, BROOD)
        write_kept(db, household_id, [renewed(duty, before.get(duty.key), str(ZONE)) for duty in wanted])


def subscribe(engine: sa.Engine, opened: Opened, phone: Any, now: datetime) -> None:
    """Let this session's phone get reminders; `phone` is one of the test's push service, or a name."""
    given = (
        phone.subscription()
        if hasattr(phone, "subscription")
        else {"endpoint": phone, "keys": {"p256dh": "", "auth": ""}}
    )
    with writing(engine) as db:
        duties.subscribe(db, opened.who, duties.Subscription(given["endpoint"], **given["keys"]), now)


def subscriptions(engine: sa.Engine) -> dict[str, str | None]:
    """The trouble of each subscription, by endpoint."""
    with reading(engine) as db:
        found = db.execute(sa.select(tables.push_subscription)).all()
    return {row.endpoint: row.trouble for row in found}


def deliveries(engine: sa.Engine) -> list[Any]:
    """All rows of the queue."""
    with reading(engine) as db:
        return list(db.execute(sa.select(tables.delivery).order_by(*tables.delivery.primary_key)))


def states(engine: sa.Engine) -> list[str]:
    """The states of all deliveries, sorted."""
    return sorted(row.state for row in deliveries(engine))


@dataclass
class Recorder:
    """A channel that keeps what it was given and answers what it is told to."""

    sent: list[tuple[str, str]] = field(default_factory=list)
    messages: list[tuple[str, Message]] = field(default_factory=list)
    answers: dict[str, list[Outcome]] = field(default_factory=dict)
    lock: threading.Lock = field(default_factory=threading.Lock)

    def send(self, address: Address, message: Message, now: datetime) -> Outcome:
        """Take one message."""
        with self.lock:
            script = self.answers.get(address.endpoint)
            outcome = script.pop(0) if script else Outcome("sent")
            if outcome.result == "sent":
                self.sent.append((address.endpoint, message.duty))
                self.messages.append((address.endpoint, message))
            return outcome
