"""Tokens for sensors: each lets one device write readings of one tank and do nothing else."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import ceil
from typing import Any
from uuid import uuid4

import sqlalchemy as sa

from ...records.instants import milliseconds
from ...store.tables import reading_token
from ..access import NotFound, TooManyAttempts, Who
from ..access.tokens import Token, digest, new_token, opened_row
from .tanks import require_keeper, tank_of

MINUTE = timedelta(minutes=1)
REQUESTS_A_MINUTE = 60


class UnknownToken(Exception):
    """No sensor may write with this; the same for a token that never was and one that was revoked."""

    def __init__(self) -> None:
        super().__init__("This token is not known, or was revoked. Send Authorization: Bearer and a token of the tank.")


class TooManyRequests(TooManyAttempts):
    """A sensor asks more often than it may."""

    def __str__(self) -> str:
        return f"More than {REQUESTS_A_MINUTE} requests in a minute. Try again in {self.wait_seconds} s."


@dataclass(frozen=True)
class Sensor:
    """A device that may write readings, the tank it writes for, and what its thermometer is called."""

    household_id: str
    token_id: str
    tank_id: str
    name: str


def make_token(db: sa.Connection, who: Who, tank_id: str, name: str, now: datetime) -> Token:
    """Make a token for a tank; its text is told this once. Only the owner and keepers may."""
    require_keeper(who)
    tank_of(db, who.household_id, tank_id)
    token = new_token(who.household_id, str(uuid4()))
    row = {
        "household_id": who.household_id,
        "token_id": token.own_id,
        "tank_id": tank_id,
        "name": name,
        "secret_hash": digest(token.secret),
        "created_by": who.person_id,
        "created_at": milliseconds(now),
        "minute_at": milliseconds(now),
        "minute_requests": 0,
    }
    db.execute(sa.insert(reading_token).values(row))
    return token


def tokens_of(db: sa.Connection, who: Who, tank_id: str) -> Sequence[Any]:
    """The tank's tokens that can still be used; only the owner and keepers may ask."""
    require_keeper(who)
    tank_of(db, who.household_id, tank_id)
    table = reading_token.c
    living = (table.household_id == who.household_id, table.tank_id == tank_id, table.revoked_at.is_(None))
    return db.execute(sa.select(reading_token).where(*living).order_by(table.created_at, table.token_id)).all()


def revoke_token(db: sa.Connection, who: Who, token_id: str, now: datetime) -> None:
    """Make a token useless; what it wrote stays. Only the owner and keepers may."""
    require_keeper(who)
    table = reading_token.c
    mine = (table.household_id == who.household_id, table.token_id == token_id, table.revoked_at.is_(None))
    if db.execute(sa.update(reading_token).where(*mine).values(revoked_at=milliseconds(now))).rowcount != 1:
        raise NotFound("There is no such token.")


def sensor_of(db: sa.Connection, token_text: str) -> Sensor:
    """The sensor whose token this is; UnknownToken where it is nobody's, or no longer."""
    row = opened_row(db, token_text, _row)
    if row is None or row.revoked_at is not None:
        raise UnknownToken
    return Sensor(row.household_id, row.token_id, row.tank_id, row.name)


def count_request(db: sa.Connection, sensor: Sensor, now: datetime) -> None:
    """Count a request and note when it came; TooManyRequests where the minute has had its share.

    A minute begins with the first request after the last one. Counting is one statement, so no two requests that come
    at once are counted as one.
    """
    table = reading_token.c
    at, length = milliseconds(now), MINUTE // timedelta(milliseconds=1)
    mine = (table.household_id == sensor.household_id, table.token_id == sensor.token_id)
    goes_on = sa.and_(table.minute_at <= at, table.minute_at > at - length)
    counted = {
        "used_at": at,
        "minute_at": sa.case((goes_on, table.minute_at), else_=at),
        "minute_requests": sa.case((goes_on, table.minute_requests + 1), else_=1),
    }
    statement = sa.update(reading_token).where(*mine, table.revoked_at.is_(None)).values(counted)
    row = db.execute(statement.returning(table.minute_at, table.minute_requests)).one_or_none()
    if row is None:
        raise UnknownToken
    if row.minute_requests > REQUESTS_A_MINUTE:
        raise TooManyRequests(max(1, ceil((row.minute_at + length - at) / 1000)))


def _row(db: sa.Connection, household_id: str, token_id: str) -> Any:
    key = (reading_token.c.household_id == household_id, reading_token.c.token_id == token_id)
    return db.execute(sa.select(reading_token).where(*key)).one_or_none()
