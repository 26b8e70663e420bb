"""Two households of our own invention, and how their people knock at the server's door."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import sqlalchemy as sa
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from holdwatch.services import access
from holdwatch.services.access import Opened, Phone, Who

ORIGIN = "http://127.0.0.1:8790"
PASSWORD = "the male by the left urchin"
START = datetime(2026, 11, 25, 20, 10, tzinfo=UTC)


class Clock:
    """The clock that tests hand in; it stands until it is moved."""

    def __init__(self, start: datetime = START) -> None:
        self.instant = start

    def now(self) -> datetime:
        """The instant it shows."""
        return self.instant

    def move(self, **ahead: float) -> datetime:
        """Move it on by a `timedelta` of these."""
        self.instant += timedelta(**ahead)
        return self.instant


@dataclass(frozen=True)
class Visitor:
    """A browser at the door, with the headers that a page of ours would send."""

    client: FlaskClient
    opened: Opened | None = None

    @property
    def who(self) -> Who:
        """Who it is that is signed in."""
        assert self.opened is not None
        return self.opened.who

    def ask(self, method: str, path: str, json: Any = None, **more: Any) -> TestResponse:
        """One request; `headers` in `more` replace the usual ones."""
        headers = {"Sec-Fetch-Site": "same-origin"} | more.pop("headers", {})
        body = {} if json is None else {"json": json}
        return self.client.open(path, method=method, base_url=ORIGIN, headers=headers, buffered=True, **body, **more)

    def get(self, path: str, **more: Any) -> TestResponse:
        """A GET."""
        return self.ask("GET", path, **more)

    def post(self, path: str, json: Any = None, **more: Any) -> TestResponse:
        """A POST of JSON."""
        return self.ask("POST", path, json, **more)

    def delete(self, path: str, **more: Any) -> TestResponse:
        """A DELETE."""
        return self.ask("DELETE", path, **more)


@dataclass(frozen=True)
class Neighbours:
    """The first household's owner, keeper and helper, and the owner of a second household."""

    owner: Opened
    keeper: Opened
    helper: Opened
    stranger: Opened


@dataclass(frozen=True)
class Visitors:
    """The neighbours at their phones, and somebody who is signed out."""

    owner: Visitor
    keeper: Visitor
    helper: Visitor
    stranger: Visitor
    signed_out: Visitor


def settle(db: sa.Connection, password_hash: str, now: datetime) -> Neighbours:
    """Found both households by the services that the API calls too."""
    owner = found(db, "Reedmarsh Lane", "Ilka", "ilka@reedmarsh.example", password_hash, now)
    keeper = invite_in(db, owner.who, "Tamsin", "keeper", password_hash, now)
    helper = invite_in(db, owner.who, "Joris", "helper", password_hash, now)
    stranger = found(db, "Quarry Cottage", "Bram", "bram@quarry.example", password_hash, now)
    return Neighbours(owner, keeper, helper, stranger)


def found(db: sa.Connection, household: str, name: str, login: str, password_hash: str, now: datetime) -> Opened:
    """Found a household with a fresh setup code."""
    code = access.new_setup_code(db, now)
    founding = access.Founding(household, name, login, password_hash)
    return access.found_household(db, code, founding, True, Phone(None, "a test"), now)


def invite_in(db: sa.Connection, owner: Who, name: str, role: str, password_hash: str, now: datetime) -> Opened:
    """Invite somebody and let them join; the login is the name in small letters."""
    invited = access.invite(db, owner, name, role, now)
    return access.join(db, str(invited.token), name.lower(), password_hash, Phone(None, "a test"), now)


def at_the_door(app: Flask, opened: Opened | None) -> Visitor:
    """A browser that holds the cookie of this session, or none."""
    client = app.test_client()
    if opened is not None:
        client.set_cookie("holdwatch", opened.cookie_value, domain="127.0.0.1")
    return Visitor(client, opened)


def visiting(app: Flask, neighbours: Neighbours) -> Visitors:
    """The neighbours at the door of `app`, and somebody who is signed out."""
    people = {name: at_the_door(app, opened) for name, opened in vars(neighbours).items()}
    return Visitors(**people, signed_out=at_the_door(app, None))
