"""Posts where it was told to: no redirects, no proxies, checked addresses, an end to waiting."""

from __future__ import annotations

import socket
import ssl
from collections.abc import Mapping
from dataclasses import dataclass
from time import monotonic
from typing import Any
from urllib.parse import urlsplit

from urllib3 import HTTPConnectionPool, HTTPSConnectionPool, PoolManager
from urllib3.connection import HTTPConnection, HTTPSConnection
from urllib3.exceptions import HTTPError
from urllib3.exceptions import TimeoutError as TookTooLong
from urllib3.response import BaseHTTPResponse

from .budget import Budget, current
from .endpoints import PORTS, EndpointRules, EndpointUnknown, Resolve, checked_addresses

LONGEST_ANSWER = 2048
KEPT_LINES = 16
"""To one push service, for the next messages; and as many services."""
KEPT_SECONDS = 60.0
# Nought would mean for ever.
NO_TIME = 0.001


@dataclass(frozen=True)
class Answer:
    """What came back: of the body only the beginning."""

    status: int
    headers: Mapping[str, str]
    text: str


class BoundedConnection(HTTPConnection):
    """A connection whose line is cut when the time of its message is up, whether it is new or was kept."""

    held_by: Budget | None = None
    asked_at: float = 0.0

    @property
    def is_connected(self) -> bool:
        """Whether the line may be used again: one that lay idle may have been dropped on the way without a word."""
        return super().is_connected and monotonic() - self.asked_at < KEPT_SECONDS

    def _new_conn(self) -> socket.socket:
        self.timeout = max(current().left(), NO_TIME)
        return self._held(super()._new_conn())

    def request(self, *asked: Any, **more: Any) -> None:
        """Ask; a connection that was kept from an earlier message is held anew."""
        if self.sock is not None and self.held_by is not current():
            self._held(self.sock)
        self.asked_at = monotonic()
        super().request(*asked, **more)

    def _held(self, line: socket.socket) -> socket.socket:
        self.held_by = current()
        self.held_by.hold(line)
        return line


class BoundedSecureConnection(BoundedConnection, HTTPSConnection):
    """The same by https."""


class _PlainPool(HTTPConnectionPool):
    ConnectionCls = BoundedConnection


class _SecurePool(HTTPSConnectionPool):
    ConnectionCls = BoundedSecureConnection


class DirectSession:
    """Follows nothing, asks no environment, and reads only the beginning of an answer.

    It stands on urllib3 alone: what requests adds, of cookies, redirects and proxies, is what must not be here, and it
    takes longer over a message than all the rest of it.
    """

    def __init__(self, rules: EndpointRules, look_up: Resolve, tls: ssl.SSLContext) -> None:
        self.rules = rules
        self.look_up = look_up
        self._lines = PoolManager(KEPT_LINES, maxsize=KEPT_LINES, ssl_context=tls)
        self._lines.pool_classes_by_scheme = {"http": _PlainPool, "https": _SecurePool}

    def post(self, url: str, body: bytes, headers: Mapping[str, str]) -> Answer:
        """One request, one answer, within the time that is left; urllib3's HTTPError where there is none."""
        parts = urlsplit(url)
        # The path alone, so that it cannot name another host.
        target = f"{parts.path or '/'}?{parts.query}" if parts.query else parts.path or "/"
        try:
            answer = self._pool(url).urlopen(
                "POST",
                target,
                body,
                {**headers, "Host": parts.netloc},
                retries=False,
                redirect=False,
                assert_same_host=False,
                timeout=max(current().left(), NO_TIME),
                preload_content=False,
            )
        except HTTPError as problem:
            # A line that was cut looks like one that broke.
            raise TookTooLong("no answer in time") if not current().left() else problem from problem
        text = _beginning(answer)
        if not current().left():
            # Cut in the middle, its head looks whole.
            raise TookTooLong("no whole answer in time")
        return Answer(answer.status, answer.headers, text)

    def _pool(self, url: str) -> HTTPConnectionPool:
        """Lines to the very address that was checked, so that a name cannot lead elsewhere a moment later."""
        address = checked_addresses(url, self.rules, self._look_up_in_time)[0]
        parts = urlsplit(url)
        # TLS keeps the name, and asks for a certificate of it.
        name = {"server_hostname": parts.hostname} if parts.scheme == "https" else {}
        return self._lines.connection_from_host(address, parts.port or PORTS[parts.scheme], parts.scheme, name)

    def _look_up_in_time(self, host: str, port: int) -> list[str]:
        try:
            return current().wait_for(lambda: self.look_up(host, port))
        except TimeoutError as problem:
            raise EndpointUnknown(f"the name {host[:100]} takes too long to look up") from problem


def _beginning(answer: BaseHTTPResponse) -> str:
    """What came with the head of the answer; it only tells people why, so a broken one is an empty one."""
    try:
        found = answer.read1(LONGEST_ANSWER, decode_content=False)
    except HTTPError:
        found = b""
    # One that was read to its end has given its line back by now; a line on which more may come is of no more use.
    answer.close()
    return found.decode("utf-8", "replace")
