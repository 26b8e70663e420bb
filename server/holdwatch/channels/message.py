"""What is handed to a channel, and what comes back: the same for every way of reaching a person."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal, Protocol

# sent: the next one in the chain has it. gone: this address will never work again.
# refused: somebody who runs the server must look. later: the same again may work.
Result = Literal["sent", "gone", "refused", "later"]

# What a message tells of its duty: that it is due, or due again for whoever had put it off, that it has moved, or that
# it need not be done any more.
DUE, AGAIN, MOVED, WITHDRAWN = "due", "again", "moved", "withdrawn"


@dataclass(frozen=True)
class Message:
    """One reminder of one duty, in words."""

    title: str
    body: str
    path: str
    duty: str
    brood: str
    urgent: bool
    until: datetime
    language: str = "en"
    has_buttons: bool = True
    """Whether there is something to be done that a button could say."""
    link_path: str = ""
    """Of a page that whoever has the message may open without signing in; empty where the channel wants none."""


@dataclass(frozen=True)
class Address:
    """One phone's subscription: where its push service listens and the keys to write to that phone."""

    id: str
    endpoint: str
    p256dh: str
    auth: str


@dataclass(frozen=True)
class Outcome:
    """How handing over went; `detail` is for whoever runs the server and holds no secret."""

    result: Result
    detail: str = ""
    retry_after_seconds: float = 0.0


class Channel(Protocol):
    """A way of reaching a person."""

    def send(self, address: Address, message: Message, now: datetime) -> Outcome:
        """Hand the message over; trouble in the world outside is an outcome, not an exception."""
        ...
