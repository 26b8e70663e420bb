"""A requests session that goes where it was told to: no redirects, no proxies, checked addresses, an end to waiting."""

from __future__ import annotations

import socket
from typing import Any
from urllib.parse import urlsplit

import requests
from requests.adapters import HTTPAdapter
from urllib3 import HTTPConnectionPool, HTTPSConnectionPool
from urllib3.connection import HTTPConnection, HTTPSConnection
from urllib3.exceptions import HTTPError

from .budget import Budget, current
from .endpoints import EndpointRules, EndpointUnknown, Resolve, checked_addresses

LONGEST_ANSWER = 2048
# Nought would mean for ever.
NO_TIME = 0.001


class BoundedConnection(HTTPConnection):
    """A connection whose line is cut when the time of its message is up, whether it is new or was kept."""

    held_by: Budget | None = None

    def _new_conn(self) -> socket.socket:
        self.timeout = max(current().left(), NO_TIME)
        return self._held(super()._new_conn())

    def request(self, *asked: Any, **more: Any) -> None:
        """Ask; a connection that was kept from an earlier message is held anew."""
        if self.sock is not None and self.held_by is not current():
            self._held(self.sock)
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


class CheckedAdapter(HTTPAdapter):
    """Connects to the very address that was checked, so that a name cannot lead elsewhere a moment later."""

    def __init__(self, rules: EndpointRules, look_up: Resolve) -> None:
        self.rules = rules
        self.look_up = look_up
        super().__init__(max_retries=0)
        self.poolmanager.pool_classes_by_scheme = {"http": _PlainPool, "https": _SecurePool}

    def build_connection_pool_key_attributes(self, request, verify, cert=None):
        """Put the checked address in the place of the name; TLS and `Host` keep the name."""
        host_params, pool_kwargs = super().build_connection_pool_key_attributes(request, verify, cert)
        address = checked_addresses(request.url, self.rules, self._look_up_in_time)[0]
        name = host_params["host"].strip("[]")
        request.headers["Host"] = urlsplit(request.url).netloc
        if host_params["scheme"] == "https":
            pool_kwargs.update(server_hostname=name, assert_hostname=name)
        return {**host_params, "host": address}, pool_kwargs

    def _look_up_in_time(self, host: str, port: int) -> list[str]:
        try:
            return current().wait_for(lambda: self.look_up(host, port))
        except TimeoutError as problem:
            raise EndpointUnknown(f"the name {host[:100]} takes too long to look up") from problem


class DirectSession(requests.Session):
    """Follows nothing, asks no environment, and reads only the beginning of an answer."""

    def __init__(self, rules: EndpointRules, look_up: Resolve) -> None:
        super().__init__()
        self.trust_env = False
        self.adapters.clear()
        for scheme in ("https://", "http://"):
            self.mount(scheme, CheckedAdapter(rules, look_up))

    def send(self, request: requests.PreparedRequest, **options: Any) -> requests.Response:
        """One request, one answer, within the time that is left; requests.Timeout where it came too late."""
        options.update(allow_redirects=False, stream=True)
        try:
            answer = super().send(request, **options)
        except requests.ConnectionError as problem:
            # A line that was cut looks like one that broke.
            raise requests.Timeout("no answer in time") if not current().left() else problem from problem
        # An answer without end would otherwise fill the memory, so what `content` gives is set here.
        answer._content = _beginning(answer)
        answer._content_consumed = True
        answer.close()
        if not current().left():
            # Cut in the middle, its head looks whole.
            raise requests.Timeout("no whole answer in time")
        return answer


def _beginning(answer: requests.Response) -> bytes:
    """What came with the head of the answer; it only tells people why, so a broken one is an empty one."""
    try:
        return answer.raw.read1(LONGEST_ANSWER, decode_content=False)
    except HTTPError:
        return b""
