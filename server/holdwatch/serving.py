"""Runs the server: the web part by waitress, and the loop that makes forecasts and sends what is due."""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from urllib.parse import urlsplit

import sqlalchemy as sa
from flask import Flask
from waitress.server import create_server

from .app import BODY_LIMIT_BYTES, create_app, utc_now
from .channels.endpoints import EndpointRules
from .channels.message import Channel
from .channels.push import PushChannel
from .config import BadSetting, Settings, load_profiles
from .domain.species import Profile
from .services import duties
from .services.access import has_owner, new_setup_code
from .services.forecasts import ask_for_aged, issue_asked
from .services.identity import new_identity
from .store.database import open_database, reading, writing
from .store.migrate import Identity, migrate

Clock = Callable[[], datetime]
IDLE_SECONDS = 20.0
WAITRESS: dict[str, Any] = {
    "threads": 8,
    "ident": None,
    # Twice what the application takes, which answers what is over its own limit in its own words.
    "max_request_body_size": 2 * BODY_LIMIT_BYTES,
    # By these the application knows that somebody came through a proxy, and is not on this machine.
    "clear_untrusted_proxy_headers": False,
}


@dataclass(frozen=True)
class Round:
    """One round of the loop: forecasts that were asked for or have aged, then duties that are due."""

    engine: sa.Engine
    profiles: Mapping[str, Profile]
    channels: Mapping[str, Channel]
    now: Clock

    def __call__(self) -> bool:
        """Work once; whether there was anything to do."""
        now = self.now()
        ask_for_aged(self.engine, now)
        issued = issue_asked(self.engine, self.profiles, now)
        sent = duties.work(self.engine, self.now(), self.channels, "loop")
        return bool(issued or sent)


def serve(settings: Settings, port: int, now: Clock = utc_now) -> int:
    """Serve until interrupted; a reverse proxy owns TLS where there is one."""
    engine = open_database(settings.database_url)
    wake, stop = threading.Event(), threading.Event()
    app = create_app(settings, engine, now, nudge=wake.set)
    work_once = _round(engine, settings, app.extensions["holdwatch"].identity, now)
    loop = threading.Thread(target=duties.run_forever, args=(work_once, wake, stop, IDLE_SECONDS), name="loop")
    server = _bound(app, settings, port)
    loop.start()
    _greet(engine, settings, port, now())
    try:
        server.run()
    finally:
        server.close()
        stop.set()
        wake.set()
        loop.join()
    return 0


def _bound(app: Flask, settings: Settings, port: int) -> Any:
    """The web server on its port, before anything is promised; BadSetting where the port cannot be had."""
    try:
        return create_server(app, listen=listening(settings, port), **WAITRESS)
    except (OSError, OverflowError) as problem:
        raise BadSetting(f"Port {port} cannot be listened on: {problem}. Choose another with --port.") from problem


def listening(settings: Settings, port: int) -> str:
    """Where to listen: on loopback, and on the home network's address where plain http is allowed there."""
    loopback = f"127.0.0.1:{port}"
    if not _at_home(settings):
        return loopback
    home = urlsplit(settings.origin).netloc
    return f"{loopback} {home if urlsplit(settings.origin).port else f'{home}:80'}"


def work_alone(settings: Settings, now: Clock = utc_now) -> int:
    """Only the loop, until interrupted."""
    engine = open_database(settings.database_url)
    work_once = _round(engine, settings, migrate(engine, new_identity), now)
    stop = threading.Event()
    try:
        duties.run_forever(work_once, threading.Event(), stop, IDLE_SECONDS)
    except KeyboardInterrupt:
        stop.set()
    return 0


def _round(engine: sa.Engine, settings: Settings, identity: Identity, now: Clock) -> Round:
    return Round(engine, load_profiles(), {"push": _push(identity, settings)}, now)


def _push(identity: Identity, settings: Settings) -> PushChannel:
    rules = EndpointRules(loopback=settings.push_loopback)
    return PushChannel(identity.vapid_private, settings.contact, settings.origin, rules)


def _at_home(settings: Settings) -> bool:
    """Whether the address is one of a home network, which plain http was allowed for."""
    return settings.origin.startswith("http:") and not _on_loopback(settings.origin)


def _on_loopback(origin: str) -> bool:
    host = urlsplit(origin).hostname or ""
    return host == "localhost" or host == "::1" or host.startswith("127.")


def _greet(engine: sa.Engine, settings: Settings, port: int, now: datetime) -> None:
    with reading(engine) as db:
        founded = has_owner(db)
    print(f"Holdwatch is at {settings.origin}", flush=True)
    if settings.client_folder is None:
        print("The client is not built; only the programming interface answers.", flush=True)
    if not founded:
        with writing(engine) as db:
            code = new_setup_code(db, now)
        # Only this machine may set up the first owner, so the address must not lead through a proxy.
        near = settings.origin if _on_loopback(settings.origin) else f"http://127.0.0.1:{port}"
        print(f"Set up the owner on this machine, within the hour and once: {near}/setup#{code}", flush=True)
    print("Stop with Ctrl+C.", flush=True)
