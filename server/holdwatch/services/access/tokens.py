"""Secrets that are handed out once and kept only as a hash."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from hashlib import sha256
from hmac import compare_digest
from secrets import token_urlsafe
from typing import Any

import sqlalchemy as sa

_ID = "[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}"
_TOKEN = re.compile(rf"({_ID})\.({_ID})\.([A-Za-z0-9_-]{{43}})")


@dataclass(frozen=True)
class Token:
    """`<household>.<own id>.<secret>`: names a row of one household and proves the right to it."""

    household_id: str
    own_id: str
    secret: str

    def __str__(self) -> str:
        return f"{self.household_id}.{self.own_id}.{self.secret}"

    def opens(self, secret_hash: str) -> bool:
        """Whether this is the secret that was kept as that hash, told in constant time."""
        return compare_digest(digest(self.secret), secret_hash)


def new_token(household_id: str, own_id: str) -> Token:
    """A token with 256 random bits."""
    return Token(household_id, own_id, token_urlsafe(32))


def parse_token(text: str) -> Token | None:
    """The token, or None for a text of any other form."""
    found = _TOKEN.fullmatch(text)
    return Token(*found.groups()) if found else None


def opened_row(db: sa.Connection, text: str, find: Callable[[sa.Connection, str, str], Any]) -> Any:
    """The row that a token's text names and its secret opens; None where there is none.

    `find` gives the row of a household and an own id, or None.
    """
    token = parse_token(text)
    row = find(db, token.household_id, token.own_id) if token else None
    return row if token and row is not None and token.opens(row.secret_hash) else None


def digest(secret: str) -> str:
    """SHA-256 in hexadecimal: enough for a secret that is itself 256 random bits."""
    return sha256(secret.encode()).hexdigest()
