"""How fast temperature is: `python tests/bench/bench_temperature.py`, prints times and ratios, asserts nothing.

A million readings, one a minute, are imported from a file by `holdwatch serve` in its own process, piece by piece over
loopback as the client does it, and the share that is done is shown meanwhile. Beside it, in the same run: the floor,
which is Python's csv module and a bare `executemany` of the same rows into a table of sqlite3's with the same pragmas,
without HTTP, time zones, judgement or hours.

Then what a tank with a million readings costs whoever asks: a forecast, a pull of everything, a sensor's reading and a
look at the water. Beside it, in the same run, the same for a tank with 60 days of readings by the minute, which is all
that is ever looked at, and for one without a thermometer. These are seconds of the processor, so that what else the
machine does counts little.
"""

import argparse
import base64
import csv
import gzip
import io
import json
import resource
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime, timedelta
from http.client import HTTPConnection
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT / "server"), str(ROOT / "tests")]

import numpy as np  # noqa: E402
import sqlalchemy as sa  # noqa: E402

from holdwatch.app import create_app  # noqa: E402
from holdwatch.config import Settings, load_profiles  # noqa: E402
from holdwatch.services.access import hash_password  # noqa: E402
from holdwatch.services.forecasts import issue_asked  # noqa: E402
from holdwatch.services.forecasts.body import forecast_body  # noqa: E402
from holdwatch.services.forecasts.story import read_story  # noqa: E402
from holdwatch.services.identity import new_identity  # noqa: E402
from holdwatch.services.temperature import PIECE_LIMIT_BYTES, make_token, watch_water  # noqa: E402
from holdwatch.services.watched_water import look_at_water  # noqa: E402
from holdwatch.store import tables  # noqa: E402
from holdwatch.store.database import open_database, reading, writing  # noqa: E402
from holdwatch.store.migrate import migrate  # noqa: E402
from people import ORIGIN, PASSWORD, Neighbours, at_the_door, settle  # noqa: E402
from services.notebook import Notebook, hold  # noqa: E402
from sync.serving import Wire, free_port, running_server  # noqa: E402

PROFILES = load_profiles()
NOTHING_CHOSEN = dict.fromkeys(("delimiter", "has_header", "time_columns", "value_column", "order"))
REPEATS = 15
RECENT = 60 * 24 * 60


def main() -> None:
    """Measure and print."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--readings", type=int, default=1_000_000)
    options = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        engine = open_database(f"sqlite:///{folder}/holdwatch.sqlite3")
        migrate(engine, new_identity)
        with writing(engine) as db:
            people = settle(db, hash_password(PASSWORD), datetime.now(UTC))
        measured = measure(engine, people, Path(folder), options.readings)
        engine.dispose()
    print(f"{options.readings:,} readings:")
    for name, value in measured.items():
        print(f"  {name:52}{value:14,.3f}")


def measure(engine: sa.Engine, people: Neighbours, folder: Path, count: int) -> dict[str, float]:
    """One run on a fresh database."""
    now = datetime.now(UTC)
    asking = Asking(engine, people, now)
    file = table_of(count, now)
    head, *lines = file.splitlines(keepends=True)
    none = asking.all()
    with server(engine, people, folder) as (connection, wire):
        import_file(connection, wire, asking.tank, b"".join([head, *lines[-RECENT:]]))
    recent = asking.all()
    before = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
    with server(engine, people, folder) as (connection, wire):
        import_s, _ = timed(lambda: import_file(connection, wire, asking.tank, b"".join([head, *lines[:-RECENT]])))
        again_s, _ = timed(lambda: import_file(connection, wire, asking.tank, file[: len(file) // 20]))
    import_cpu_s = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - before
    floor_s = sqlite_floor(folder / "floor.sqlite3", b"".join([head, *lines[:-RECENT]]))
    million = asking.all()
    share = count / max(1, count - RECENT)
    found = {
        "the file, MB": len(file) / 1e6,
        "import of all, s": import_s * share,
        "import, readings/s": count / (import_s * share),
        "import, s of the server's processor": import_cpu_s * share,
        "a twentieth of it again, s": again_s,
        "floor: csv and sqlite3 executemany, s": floor_s * share,
        "import / floor": import_s / floor_s,
        "database, MB": (folder / "holdwatch.sqlite3").stat().st_size / 1e6,
    }
    for name, ms in million.items():
        found[f"{name}, ms"] = ms
        found[f"  {name}: with a million / with 60 days"] = ms / recent[name]
        found[f"  {name}: with a million / with none"] = ms / none[name]
    return found


@contextmanager
def server(engine: sa.Engine, people: Neighbours, folder: Path) -> Iterator[tuple[HTTPConnection, Wire]]:
    """`holdwatch serve` in its own process, and the owner's way to it."""
    port = free_port()
    with running_server(engine, port, folder / "server.log"):
        with closing(HTTPConnection("127.0.0.1", port)) as connection:
            yield connection, Wire(port, people.owner)


class Asking:
    """A household with a brood under way, and whoever asks for something of it, in this process."""

    def __init__(self, engine: sa.Engine, people: Neighbours, now: datetime) -> None:
        self.engine, self.people, self.now = engine, people, now
        self.brood = hold(Notebook(engine, people.owner.who), now)
        with writing(engine) as db:
            (self.tank,) = db.scalars(sa.select(tables.record.c.id).filter_by(kind="tank"))
            self.token = str(make_token(db, people.owner.who, self.tank, "log", now))
        self.minutes = 0
        app = create_app(Settings("", ORIGIN, None, "mailto:operator@example.org"), engine, lambda: self.now)
        self.owner, self.sensor = at_the_door(app, people.owner), at_the_door(app, None)

    def all(self) -> dict[str, float]:
        """How long each takes, in ms of the processor."""
        issue_asked(self.engine, PROFILES, self.now)
        return {
            "a forecast": median_ms(self.forecast),
            "a pull of everything": median_ms(self.pull),
            "a sensor's reading": median_ms(self.send),
            "a look at the water": median_ms(self.look),
        }

    def forecast(self) -> None:
        """One forecast from the records and the thermometers."""
        with reading(self.engine) as db:
            story = read_story(db, self.people.owner.who.household_id, self.brood, self.now)
        if forecast_body(story, PROFILES, None, self.now)["error"]:
            raise SystemExit("no forecast")

    def pull(self) -> None:
        """All that a new phone is told."""
        asked = {"schema": 1, "device": "ab12cd34", "cursor": 0, "epoch": None, "changes": []}
        check(self.owner.post("/api/v1/sync", asked))

    def send(self) -> None:
        """The next minute's reading."""
        self.now += timedelta(minutes=1)
        one = {"at": self.now.isoformat(), "temperature_c": 26.1}
        check(self.sensor.post("/api/v1/readings", one, headers={"Authorization": f"Bearer {self.token}"}))

    def look(self) -> None:
        """What the loop does with a tank's water."""
        with writing(self.engine) as db:
            look_at_water(db, self.people.owner.who.household_id, self.tank, self.now)
        if not watch_water(self.engine, PROFILES, self.now):
            raise SystemExit("nothing was looked at")


def check(answer: Any) -> None:
    """What is refused is no measurement."""
    if answer.status_code != 200:
        raise SystemExit(answer.text[:300])


def table_of(count: int, now: datetime) -> bytes:
    """A file of minutes until an hour ago: a daily swing, a thermometer of sixteenths, a spike now and then."""
    start = (now - timedelta(hours=1, minutes=count)).replace(second=0, microsecond=0)
    random = np.random.default_rng(20261125)
    celsius = 26 + 0.4 * np.sin(np.arange(count) / 1440 * 2 * np.pi) + random.normal(0, 0.03, count)
    celsius[random.random(count) < 0.0005] += 5
    shown = np.round(celsius * 16) / 16
    lines = io.StringIO()
    lines.write("time,temperature (°C)\n")
    for minute, value in enumerate(shown.tolist()):
        lines.write(f"{start + timedelta(minutes=minute):%Y-%m-%d %H:%M},{value}\n")
    return lines.getvalue().encode()


def import_file(connection: HTTPConnection, wire: Wire, tank: str, file: bytes) -> None:
    """Import it as the client does: understood by its first piece, then sent piece by piece."""
    first = {"piece": packed(file[:65536]), "is_last": False, "chosen": NOTHING_CHOSEN | {"unit": "C", "clock": "utc"}}
    form = ask(connection, wire, f"tanks/{tank}/readings/preview", first)["form"]
    spot = {"offset": 0, "line": 1, "last_ms": None, "steps_ms": []}
    taken = known = 0
    while spot["offset"] < len(file):
        piece = file[spot["offset"] : spot["offset"] + PIECE_LIMIT_BYTES]
        is_last = spot["offset"] + len(piece) == len(file)
        sent = {"piece": packed(piece), "is_last": is_last, "thermometer": "log", "form": form, "spot": spot}
        answer = ask(connection, wire, f"tanks/{tank}/readings/import", sent)
        spot = answer["spot"]
        taken, known = taken + answer["taken"], known + answer["known"]
        print(f"\r{100 * spot['offset'] // len(file):3} %  {taken:,} taken, {known:,} known", end="", flush=True)
    print()


def packed(piece: bytes) -> str:
    """A piece in base64."""
    return base64.b64encode(piece).decode()


def ask(connection: HTTPConnection, wire: Wire, path: str, body: Any) -> Any:
    """One round trip, compressed going up as the client compresses it."""
    sent = gzip.compress(json.dumps(body).encode(), 6, mtime=0)
    connection.request("POST", f"/api/v1/{path}", sent, wire.headers() | {"Content-Encoding": "gzip"})
    answer = connection.getresponse()
    text = answer.read()
    if answer.status != 200:
        raise SystemExit(f"{answer.status}: {text[:300]!r}")
    return json.loads(text)


def sqlite_floor(path: Path, file: bytes) -> float:
    """The same rows by csv and a bare `executemany`, in one transaction."""
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("PRAGMA journal_mode=WAL")
        db.execute("PRAGMA synchronous=FULL")
        db.execute("CREATE TABLE reading (at INTEGER PRIMARY KEY, millidegrees INTEGER)")
        return timed(lambda: insert(db, file))[0]


def insert(db: sqlite3.Connection, file: bytes) -> None:
    """One transaction."""
    rows = csv.reader(io.StringIO(file.decode()))
    next(rows)
    db.execute("BEGIN IMMEDIATE")
    parsed = ((round(datetime.fromisoformat(at).timestamp() * 1000), round(float(value) * 1000)) for at, value in rows)
    db.executemany("INSERT OR IGNORE INTO reading VALUES (?, ?)", parsed)
    db.execute("COMMIT")


def median_ms(act: Callable[[], None]) -> float:
    """How long it takes in the middle of several times, in ms of the processor, after one that does not count."""
    act()
    return 1000 * statistics.median(timed(act, time.process_time)[0] for _ in range(REPEATS))


def timed(act: Callable[[], Any], clock: Callable[[], float] = time.perf_counter) -> tuple[float, Any]:
    """How long it takes, in seconds, and what it returns."""
    begun = clock()
    result = act()
    return clock() - begun, result


if __name__ == "__main__":
    main()
