"""Every lease that a worker takes on a delivery, written down by the database itself in the very transaction.

The database knows a worker by the name under which it connected. What a test changes is not written down.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import sqlalchemy as sa

from holdwatch.records.instants import milliseconds
from holdwatch.services.duties.claiming import LEASE
from holdwatch.store.database import reading, writing

WATCH = """
CREATE TABLE lease_taken (
  household_id text, duty_key text, version bigint, person_id text, channel text, matter text,
  until_at bigint, worker text NOT NULL, over_at bigint, settled boolean NOT NULL DEFAULT false,
  PRIMARY KEY (household_id, duty_key, version, person_id, channel, matter, until_at));
CREATE FUNCTION note_lease() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN
  IF NEW.lease_until IS NULL THEN
    UPDATE lease_taken t SET settled = true
    WHERE (t.household_id, t.duty_key, t.version, t.person_id, t.channel, t.matter, t.until_at)
      = (OLD.household_id, OLD.duty_key, OLD.version, OLD.person_id, OLD.channel, OLD.matter, OLD.lease_until);
  ELSE
    INSERT INTO lease_taken VALUES (NEW.household_id, NEW.duty_key, NEW.version, NEW.person_id, NEW.channel,
      NEW.matter, NEW.lease_until, current_setting('application_name'));
  END IF;
  RETURN NULL;
END $$;
CREATE TRIGGER note_lease AFTER UPDATE ON delivery FOR EACH ROW
  WHEN (NEW.lease_until IS DISTINCT FROM OLD.lease_until AND current_setting('application_name') <> '')
  EXECUTE FUNCTION note_lease();
"""
LET_PASS = (
    """
    UPDATE delivery d SET lease_until = :now FROM lease_taken t
    WHERE t.worker = ANY(:dead) AND NOT t.settled AND t.until_at > :now AND d.lease_until = t.until_at
      AND (t.household_id, t.duty_key, t.version, t.person_id, t.channel, t.matter)
        = (d.household_id, d.duty_key, d.version, d.person_id, d.channel, d.matter)
    """,
    """
    UPDATE lease_taken SET over_at = :now
    WHERE worker = ANY(:dead) AND NOT settled AND until_at > :now AND over_at IS NULL
    """,
)


@dataclass(frozen=True)
class Lease:
    """One worker's hold on what tells of a duty to a person, in milliseconds; `settled` if that worker gave it back."""

    told: tuple[str, str]
    worker: str
    taken_at: int
    over_at: int
    settled: bool


def watch_leases(engine: sa.Engine) -> None:
    """Have the database write down every lease from now on."""
    with writing(engine) as db:
        db.exec_driver_sql(WATCH)


def let_leases_pass(engine: sa.Engine, dead: Collection[str], now: datetime) -> None:
    """Play that their time has passed: the leases of these workers, none of which may still live, end now."""
    with writing(engine) as db:
        for statement in LET_PASS:
            db.execute(sa.text(statement), {"dead": list(dead), "now": milliseconds(now)})


def leases(engine: sa.Engine) -> list[Lease]:
    """All that were taken, those of one delivery in the order in which they were."""
    with reading(engine) as db:
        rows = db.execute(sa.text("SELECT * FROM lease_taken ORDER BY until_at")).all()
    return [_lease(row) for row in rows]


def has_gone(engine: sa.Engine, worker: str) -> bool:
    """Whether the database serves no connection of that worker, and so carries out nothing of its any more."""
    return not _connections(engine, worker)


def has_come(engine: sa.Engine, worker: str) -> bool:
    """Whether that worker has connected to the database."""
    return _connections(engine, worker) > 0


def has_taken(engine: sa.Engine, worker: str) -> bool:
    """Whether that worker has taken a lease yet."""
    with reading(engine) as db:
        asked = sa.text("SELECT EXISTS (SELECT 1 FROM lease_taken WHERE worker = :worker)")
        return db.execute(asked, {"worker": worker}).scalar_one()


def _connections(engine: sa.Engine, worker: str) -> int:
    with reading(engine) as db:
        asked = sa.text("SELECT count(*) FROM pg_stat_activity WHERE application_name = :worker")
        return db.execute(asked, {"worker": worker}).scalar_one()


def _lease(row: Any) -> Lease:
    over_at = row.until_at if row.over_at is None else row.over_at
    taken_at = row.until_at - LEASE // timedelta(milliseconds=1)
    return Lease((row.duty_key, row.person_id), row.worker, taken_at, over_at, row.settled)
