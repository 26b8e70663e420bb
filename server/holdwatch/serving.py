"""Runs the server: the web part by waitress, and the loop that makes forecasts and sends what is due."""

from __future__ import annotations

import gc
import threading
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa

from .app import create_app, photo_cabinet, utc_now
from .channels.email import EmailChannel
from .channels.message import Channel
from .channels.push import push_channel
from .config import Settings, load_profiles
from .domain.species import Profile
from .listening import bind, is_at_home, near_address
from .services import duties
from .services.access import has_owner, new_setup_code
from .services.forecasts import ask_for_aged, issue_asked
from .services.identity import new_identity
from .services.nursery import watch_nurseries
from .services.photos import Cabinet, clear_leftovers, clear_unfinished
from .services.temperature import watch_water
from .store.database import open_database, reading, writing
from .store.migrate import Identity, migrate

Clock = Callable[[], datetime]
IDLE_SECONDS = 20.0
RINGS_AFTER = 50_000


@dataclass(frozen=True)
class Round:
    """One round of the loop: forecasts that were asked for or have aged, then duties that are due."""

    engine: sa.Engine
    profiles: Mapping[str, Profile]
    channels: Mapping[str, Channel]
    now: Clock
    cabinet: Cabinet

    def __call__(self) -> bool:
        """Work once; whether there was anything to do."""
        now = self.now()
        ask_for_aged(self.engine, now)
        watch_water(self.engine, self.profiles, now)
        clear_unfinished(self.engine, self.cabinet.shelf, now)
        issued = issue_asked(self.engine, self.profiles, now)
        looked_at = watch_nurseries(self.engine, self.profiles, now)
        sent = duties.work(self.engine, self.now(), self.channels, "loop")
        return bool(issued or looked_at or sent)


def serve(settings: Settings, port: int, now: Clock = utc_now) -> int:
    """Serve until interrupted; a reverse proxy owns TLS where there is one."""
    engine = open_database(settings.database_url)
    wake, stop = threading.Event(), threading.Event()
    app = create_app(settings, engine, now, nudge=wake.set)
    work_once = _round(engine, settings, app.extensions["holdwatch"].identity, now)
    loop = threading.Thread(target=duties.run_forever, args=(work_once, wake, stop, IDLE_SECONDS), name="loop")
    server = bind(app, settings, port)
    look_for_rings_less_often()
    loop.start()
    print(*greeting(engine, settings, port, now()), sep="\n", flush=True)
    try:
        server.run()
    finally:
        server.close()
        stop.set()
        wake.set()
        loop.join()
    return 0


def look_for_rings_less_often() -> None:
    """Let what is loaded by now stay unlooked at, and look for objects tied in rings only after very many new ones.

    A push makes tens of thousands that live for a moment and are tied in none. To search after every 700 of them, as
    Python does, took a quarter of its time.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(RINGS_AFTER)


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
    cabinet = photo_cabinet(settings, engine)
    clear_leftovers(cabinet.shelf, now())
    return Round(engine, load_profiles(), _channels(identity, settings), now, cabinet)


def _channels(identity: Identity, settings: Settings) -> dict[str, Channel]:
    channels: dict[str, Channel] = {"push": push_channel(settings, identity.vapid_private)}
    if settings.mail is not None:
        channels["email"] = EmailChannel(settings.mail, settings.origin)
    return channels


def greeting(engine: sa.Engine, settings: Settings, port: int, now: datetime) -> Iterator[str]:
    """What to tell whoever started it; where nobody was set up yet, with a fresh address for that."""
    with reading(engine) as db:
        founded = has_owner(db)
    yield _whereabouts(settings.origin, port)
    if settings.client_folder is None:
        yield "The client is not built; only the programming interface answers."
    if not founded:
        with writing(engine) as db:
            code = new_setup_code(db, now)
        near = near_address(settings.origin, port)
        yield f"Set up the owner on this machine, within the hour and once: {near}/setup#{code}"
    yield "Stop with Ctrl+C."


def _whereabouts(origin: str, port: int) -> str:
    """Where it listens and where people open it, which are two things behind a proxy or where a port is forwarded."""
    near = near_address(origin, port)
    if near == origin:
        return f"Holdwatch is at {origin}"
    if is_at_home(origin):
        return f"Holdwatch is at {origin}, and on this machine at {near}"
    return (
        f"Holdwatch listens at {near}. People open it at {origin} (HOLDWATCH_ORIGIN): "
        "whatever stands there must pass on to here."
    )
