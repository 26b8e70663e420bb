"""How fast sync is: `python tests/bench/bench_sync.py`, prints times, sizes and ratios, asserts nothing.

A phone pushes records of about 188 bytes in batches of 500 over loopback to `holdwatch serve` in its own process, and
another phone pulls them. Beside it, in the same run: the floor, which is a bare `executemany` of the same rows into a
table of sqlite3's with the same pragmas, without HTTP, validation, merge or history.
"""

import argparse
import gzip
import json
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime
from http.client import HTTPConnection
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT / "server"), str(ROOT / "tests")]

from holdwatch.services.access import hash_password  # noqa: E402
from holdwatch.services.identity import new_identity  # noqa: E402
from holdwatch.store.database import open_database, writing  # noqa: E402
from holdwatch.store.migrate import migrate  # noqa: E402
from people import PASSWORD, settle  # noqa: E402
from sync.pushing import added  # noqa: E402
from sync.serving import Wire, free_port, running_server, stamp_now  # noqa: E402

BATCH = 500
FAR = 2**50


def main() -> None:
    """Measure and print."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--records", type=int, default=1000)
    asked.add_argument("--runs", type=int, default=5)
    options = asked.parse_args()
    runs = [measure(options.records) for _ in range(options.runs)]
    print(f"{options.records} records, {options.runs} runs, medians:")
    for name in runs[0]:
        print(f"  {name:44}{statistics.median(run[name] for run in runs):14,.3f}")


def measure(count: int) -> dict[str, float]:
    """One run on a fresh database."""
    with tempfile.TemporaryDirectory() as folder:
        engine = open_database(f"sqlite:///{folder}/holdwatch.sqlite3")
        migrate(engine, new_identity)
        with writing(engine) as db:
            people = settle(db, hash_password(PASSWORD), datetime.now(UTC))
        changes = [look(people.owner.who, number) for number in range(count)]
        port = free_port()
        with running_server(engine, port, Path(folder) / "server.log"):
            found = over_the_wire(Wire(port, people.owner), Wire(port, people.keeper), changes)
        floor = sqlite_floor(Path(folder) / "floor.sqlite3", changes)
        engine.dispose()
    return found | {"floor: sqlite3 executemany, s": floor, "push / floor": found["push, s"] / floor}


def look(who: Any, number: int) -> dict[str, Any]:
    """A look with eight fields."""
    at = datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
    parts = {"light": "red", "mouth": "full", "eggs": "silver", "tails": "perhaps", "food": "ignored"}
    note = f"by the left urchin, the {number}th time"
    return added(who, "look", stamp_now(number), at=at, note=note, recalled=False, **parts)


def over_the_wire(one: Wire, other: Wire, changes: list[Any]) -> dict[str, float]:
    """Push all from one phone, pull all to the other, then pull nothing."""
    batches = [one.body(changes[start : start + BATCH], FAR) for start in range(0, len(changes), BATCH)]
    packed = [gzip.compress(body, 5, mtime=0) for body in batches]
    with closing(HTTPConnection("127.0.0.1", one.port)) as connection:
        push_s, _ = timed(lambda: [ask(connection, one, body) for body in packed])
        pull_s, down = timed(lambda: pull(connection, other))
        nothing_s, empty = timed(lambda: ask(connection, other, gzip.compress(one.body([], FAR))))
    records = len(changes)
    return {
        "requests to push": len(packed),
        "push, s": push_s,
        "push, records/s": records / push_s,
        "up, bytes/record": sum(map(len, packed)) / records,
        "pull, s": pull_s,
        "pull, records/s": records / pull_s,
        "down, bytes/record": down / records,
        "a pull with nothing new, ms": 1000 * nothing_s,
        "a pull with nothing new, bytes with headers": empty[1],
    }


def pull(connection: HTTPConnection, wire: Wire) -> int:
    """Pull every page; the bytes that came."""
    cursor, more, received = 0, True, 0
    while more:
        answer, size = ask(connection, wire, gzip.compress(wire.body([], cursor)))
        cursor, more, received = answer["cursor"], answer["more"], received + size
    return received


def ask(connection: HTTPConnection, wire: Wire, packed: bytes) -> tuple[dict[str, Any], int]:
    """One round trip, gzip both ways; the answer and its bytes with headers."""
    headers = wire.headers() | {"Content-Encoding": "gzip", "Accept-Encoding": "gzip"}
    connection.request("POST", "/api/v1/sync", packed, headers)
    answer = connection.getresponse()
    body = answer.read()
    if answer.status != 200:
        raise SystemExit(f"{answer.status}: {body[:200]!r}")
    size = len(body) + len(str(answer.headers))
    plain = gzip.decompress(body) if answer.headers["Content-Encoding"] == "gzip" else body
    return json.loads(plain), size


def sqlite_floor(path: Path, changes: list[Any]) -> float:
    """The same records by a bare `executemany` in transactions of 500."""
    rows = [(c["id"], c["kind"], c["author"], c["device"], json.dumps(c["fields"])) for c in changes]
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("PRAGMA journal_mode=WAL")
        db.execute("PRAGMA synchronous=FULL")
        db.execute("CREATE TABLE record (id TEXT PRIMARY KEY, kind TEXT, author TEXT, device TEXT, fields TEXT)")
        return timed(lambda: [insert(db, rows[start : start + BATCH]) for start in range(0, len(rows), BATCH)])[0]


def insert(db: sqlite3.Connection, rows: list[Any]) -> None:
    """One transaction."""
    db.execute("BEGIN IMMEDIATE")
    db.executemany("INSERT INTO record VALUES (?, ?, ?, ?, ?)", rows)
    db.execute("COMMIT")


def timed(act: Callable[[], Any]) -> tuple[float, Any]:
    """How long it takes, in seconds, and what it returns."""
    begun = time.perf_counter()
    result = act()
    return time.perf_counter() - begun, result


if __name__ == "__main__":
    main()
