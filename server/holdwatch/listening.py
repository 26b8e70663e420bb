"""The web server that people reach: where it listens, what it lets in, and how it refuses in our own words."""

from __future__ import annotations

import json
from http import HTTPStatus
from typing import Any
from urllib.parse import urlsplit

from flask import Flask
from waitress.channel import HTTPChannel
from waitress.server import BaseWSGIServer, create_server
from waitress.task import ErrorTask

from .app import BODY_LIMIT_BYTES
from .config import BadSetting, Settings, is_loopback
from .web.errors import before, described
from .web.security import API_POLICY

WAITRESS: dict[str, Any] = {
    "threads": 8,
    "ident": None,
    # Twice what the application takes; what is larger is refused before it is read.
    "max_request_body_size": 2 * BODY_LIMIT_BYTES,
    # By these the application knows that somebody came through a proxy, and is not on this machine.
    "clear_untrusted_proxy_headers": False,
}


class OurErrorTask(ErrorTask):
    """Answers what never reached the application, with the one shape of an error."""

    def execute(self) -> None:
        """Write the answer; the line is closed after it."""
        refused: Any = self.request
        status = HTTPStatus(refused.error.code)
        body = _words(status)
        self.status = f"{status.value} {status.phrase}"
        self.response_headers = [
            ("Content-Type", "application/json"),
            ("Content-Security-Policy", API_POLICY),
            ("X-Content-Type-Options", "nosniff"),
            ("Cache-Control", "no-store"),
        ]
        self.set_close_on_finish()
        self.content_length = len(body)
        self.write(body)


class OurChannel(HTTPChannel):
    """A connection whose errors are ours."""

    error_task_class = OurErrorTask


def bind(app: Flask, settings: Settings, port: int) -> Any:
    """The web server on its port, before anything is promised; BadSetting where the port cannot be had."""
    try:
        return serving_at(app, listening(settings, port), {})
    except (OSError, OverflowError, ValueError) as problem:
        raise BadSetting(f"Port {port} cannot be listened on: {problem}. Choose another with --port.") from problem


def serving_at(app: Flask, addresses: str, sockets: dict[Any, Any]) -> Any:
    """A server of waitress at these addresses, which keeps its sockets in `sockets`."""
    server = create_server(app, map=sockets, listen=addresses, **WAITRESS)
    for one in sockets.values():
        if isinstance(one, BaseWSGIServer):
            one.channel_class = OurChannel
    return server


def listening(settings: Settings, port: int) -> str:
    """Where to listen: on loopback, and on the home network's address where plain http is allowed there."""
    loopback = f"127.0.0.1:{port}"
    if not is_at_home(settings.origin):
        return loopback
    home = urlsplit(settings.origin).netloc
    return f"{loopback} {home if urlsplit(settings.origin).port else f'{home}:80'}"


def is_at_home(origin: str) -> bool:
    """Whether the address is one of a home network, which plain http was allowed for."""
    return origin.startswith("http:") and not is_on_loopback(origin)


def is_on_loopback(origin: str) -> bool:
    """Whether the address is one of this very machine."""
    return is_loopback(urlsplit(origin).hostname or "")


def is_here(origin: str, port: int) -> bool:
    """Whether the address is the very one that is listened on for this machine."""
    parts = urlsplit(origin)
    return parts.scheme == "http" and parts.hostname in ("localhost", "127.0.0.1") and (parts.port or 80) == port


def near_address(origin: str, port: int) -> str:
    """The address on this machine; what only whoever sits at it may do must lead through no proxy."""
    return origin if is_here(origin, port) else f"http://127.0.0.1:{port}"


def _words(status: HTTPStatus) -> bytes:
    code, message = before(status, status.phrase)
    return json.dumps(described(code, message or "The server cannot read this request.")).encode() + b"\n"
