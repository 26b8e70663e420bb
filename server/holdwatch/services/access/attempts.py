"""Failed sign-ins are counted for each login and each address, and the wait grows with them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import ip_address, ip_network
from math import ceil

import sqlalchemy as sa

from ...records.instants import milliseconds
from ...store.tables import attempt
from ...store.upsert import inserting
from .errors import TooManyAttempts
from .tokens import digest

# Failures without a wait. An address may be shared by a whole household, a login is one person's.
LOGIN_FREE = 5
ADDRESS_FREE = 20
LONGEST_WAIT_SECONDS = 300
FORGOTTEN_AFTER = timedelta(days=1)


@dataclass(frozen=True)
class Counter:
    """What is counted, and how many failures are free."""

    who: str
    free: int


def count_attempt(db: sa.Connection, login: str, address: str, now: datetime) -> None:
    """Count a sign-in as failed before its password is looked at; TooManyAttempts while it must wait.

    Counting first leaves no gap in which many guesses run side by side. The caller commits at once.
    """
    counters = _counters(login, address)
    db.execute(sa.delete(attempt).where(attempt.c.last_at < milliseconds(now - FORGOTTEN_AFTER)))
    names = [counter.who for counter in counters]
    blocked = sa.select(sa.func.max(attempt.c.blocked_until)).where(attempt.c.who.in_(names))
    wait = (db.execute(blocked).scalar() or 0) - milliseconds(now)
    if wait > 0:
        raise TooManyAttempts(ceil(wait / 1000))
    for counter in counters:
        _count(db, counter, now)


def forgive(db: sa.Connection, login: str, address: str) -> None:
    """The attempt succeeded: forget the login's failures, and take back the one of the address."""
    by_login, by_address = _counters(login, address)
    db.execute(sa.delete(attempt).where(attempt.c.who == by_login.who))
    # Only the one: whoever has an account here must not use it to wash an address clean.
    fewer = {"failures": attempt.c.failures - 1, "blocked_until": 0}
    db.execute(sa.update(attempt).where(attempt.c.who == by_address.who).values(fewer))


def forget(db: sa.Connection, login: str) -> None:
    """Forget the failures of a login whose password was set anew."""
    db.execute(sa.delete(attempt).where(attempt.c.who == _counters(login, "")[0].who))


def wait_seconds(failures: int, free: int) -> int:
    """Seconds until the next attempt: none while failures are free, then 2, 4, 8 … up to the longest."""
    if failures <= free:
        return 0
    return min(LONGEST_WAIT_SECONDS, 2 ** min(failures - free, 16))


def _counters(login: str, address: str) -> tuple[Counter, Counter]:
    # Hashed: people type passwords into login fields, and addresses are nobody's business.
    by_login = Counter(digest(f"login:{login}"), LOGIN_FREE)
    return by_login, Counter(digest(f"address:{_network(address)}"), ADDRESS_FREE)


def _network(address: str) -> str:
    """The address; for IPv6 its /64, which is what one subscriber is given at least (RFC 6177)."""
    try:
        parsed = ip_address(address)
    except ValueError:
        return address
    return address if parsed.version == 4 else str(ip_network((parsed.packed, 64), strict=False))


def _count(db: sa.Connection, counter: Counter, now: datetime) -> None:
    statement = inserting(db, attempt).values(who=counter.who, failures=1, last_at=milliseconds(now), blocked_until=0)
    statement = statement.on_conflict_do_update(
        index_elements=["who"],
        set_={"failures": attempt.c.failures + 1, "last_at": statement.excluded.last_at},
    ).returning(attempt.c.failures)
    failures = db.execute(statement).scalar_one()
    until = milliseconds(now + timedelta(seconds=wait_seconds(failures, counter.free)))
    db.execute(sa.update(attempt).where(attempt.c.who == counter.who).values(blocked_until=until))
