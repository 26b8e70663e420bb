"""What merging costs: `python tests/bench/bench_sync_merge.py`, prints medians and ratios, asserts nothing.

A push of 500 looks from its JSON to the commit: read, every field validated, judged, merged, written; then pages of a
thousand to JSON. Beside it, in the same run, the floor: the very rows that this made, by a bare `executemany` into a
table of the same columns and primary key and nothing else, on SQLite under the same pragmas. Both on PostgreSQL too,
where there is one; the ratio that is wanted is SQLite's.
"""

from __future__ import annotations

import argparse
import gc
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import orjson
import sqlalchemy as sa

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT / "server"), str(ROOT / "tests")]

from bench.bench_sync_looks import as_json, edits, in_batches, looks  # noqa: E402
from holdwatch.records.kinds import SCHEMA_NUMBER  # noqa: E402
from holdwatch.services.access import Who, hash_password  # noqa: E402
from holdwatch.services.identity import new_identity  # noqa: E402
from holdwatch.services.sync import Push, agree  # noqa: E402
from holdwatch.serving import look_for_rings_less_often  # noqa: E402
from holdwatch.store import tables  # noqa: E402
from holdwatch.store.database import open_database, reading, writing  # noqa: E402
from holdwatch.store.migrate import migrate  # noqa: E402
from holdwatch.web.bodies import read_json  # noqa: E402
from people import PASSWORD, settle  # noqa: E402
from postgresql.cluster import Missing, running  # noqa: E402
from sync.pushing import said_once  # noqa: E402

BATCH = 500
FAR = 2**50
COLUMNS = [column.name for column in tables.record.columns]
NAMES, MARKS = ", ".join(f'"{name}"' for name in COLUMNS), ", ".join("?" for _ in COLUMNS)
BARE = f"CREATE TABLE bare ({NAMES}, PRIMARY KEY (household_id, id))"
PRAGMAS = ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON")


def main() -> None:
    """Measure and print."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--records", type=int, default=10_000)
    asked.add_argument("--runs", type=int, default=5)
    options = asked.parse_args()
    # As the server does before it serves.
    look_for_rings_less_often()
    show("SQLite", [on_sqlite(options.records) for _ in range(options.runs)])
    try:
        with running() as address:
            runs = [on_postgresql(address, number, options.records) for number in range(options.runs)]
    except Missing as missing:
        print(missing)
    else:
        show("PostgreSQL", runs)


def show(database: str, runs: Sequence[dict[str, float]]) -> None:
    """The medians of what each run found."""
    print(f"{database}, {len(runs)} runs, medians:")
    for name in runs[0]:
        print(f"  {name:52}{statistics.median(run[name] for run in runs):12,.3f}")


def on_sqlite(count: int) -> dict[str, float]:
    """One run in files of its own."""
    with tempfile.TemporaryDirectory() as folder, database(f"sqlite:///{folder}/holdwatch.sqlite3") as engine:
        found, rows = merging(engine, count)
        with closing(sqlite3.connect(f"{folder}/floor.sqlite3", isolation_level=None)) as db:
            for pragma in PRAGMAS:
                db.execute(f"PRAGMA {pragma}")
            db.execute(BARE)
            floor = timed(lambda: [insert(db, some) for some in in_batches(rows, BATCH)])
            db.execute("DELETE FROM bare")
            at_once = timed(lambda: insert(db, rows))
    found["floor: bare executemany, records/s"] = count / floor
    found["  merge / floor (at least 0.1)"] = found["merge, records/s"] * floor / count
    found["floor in one transaction of all, records/s"] = count / at_once
    found["  merge / that floor"] = found["merge, records/s"] * at_once / count
    return found


def on_postgresql(address: str, number: int, count: int) -> dict[str, float]:
    """One run in a database of its own."""
    keeper = sa.create_engine(address.format("postgres"), isolation_level="AUTOCOMMIT")
    with keeper.connect() as db:
        db.exec_driver_sql(f"CREATE DATABASE bench_{number}")
    keeper.dispose()
    with database(address.format(f"bench_{number}")) as engine:
        found, rows = merging(engine, count)
        with engine.begin() as db:
            db.exec_driver_sql("CREATE TABLE bare (LIKE record INCLUDING DEFAULTS)")
            db.exec_driver_sql("ALTER TABLE bare ADD PRIMARY KEY (household_id, id)")
        floor = timed(lambda: [bare_insert(engine, some) for some in in_batches(rows, BATCH)])
    found["floor: bare executemany, records/s"] = count / floor
    found["  merge / floor"] = found["merge, records/s"] * floor / count
    return found


@contextmanager
def database(url: str) -> Iterator[sa.Engine]:
    """An engine on an empty database of the newest shape."""
    engine = open_database(url)
    migrate(engine, new_identity)
    yield engine
    engine.dispose()


def merging(engine: sa.Engine, count: int) -> tuple[dict[str, float], list[tuple[Any, ...]]]:
    """How fast looks and edits are merged and pages made, and the rows that the looks became."""
    with writing(engine) as db:
        who = settle(db, hash_password(PASSWORD), datetime.now(UTC)).owner.who
    made = looks(who, count)
    push_s = timed(lambda body: push(engine, who, body), bodies(made))
    with reading(engine) as db:
        rows = [tuple(row) for row in db.execute(sa.select(tables.record).order_by(tables.record.c.revision))]
    pull_s = timed(lambda: pull(engine, who))
    revisions = {row[COLUMNS.index("id")]: row[COLUMNS.index("revision")] for row in rows}
    edit_s = timed(lambda body: push(engine, who, body), bodies(edits(made, revisions)))
    return {
        "bytes of a stored row": sum(len(str(part)) for row in rows for part in row) / count,
        "merge, records/s": count / push_s,
        "merge of two-field edits, edits/s": count / edit_s,
        "pages to JSON, records/s": count / pull_s,
    }, rows


def bodies(changes: Sequence[dict[str, Any]]) -> list[bytes]:
    """The changes of each push, as they come out of gzip."""
    return [as_json([said_once(change) for change in some]) for some in in_batches(changes, BATCH)]


def push(engine: sa.Engine, who: Who, body: bytes) -> None:
    """From the JSON to the commit; all must be taken."""
    now = datetime.now(UTC)
    with writing(engine) as db:
        agreement = agree(db, who, Push(read_json(body), FAR, SCHEMA_NUMBER, False), now)
    assert {verdict.verdict for verdict in agreement.verdicts} == {"taken"}


def pull(engine: sa.Engine, who: Who) -> None:
    """Every page as JSON."""
    cursor, more = 0, True
    while more:
        with reading(engine) as db:
            page = agree(db, who, Push([], cursor, SCHEMA_NUMBER, False), datetime.now(UTC)).page
        orjson.dumps(page.rows)
        cursor, more = page.cursor, page.more


def insert(db: sqlite3.Connection, rows: Sequence[Any]) -> None:
    """One transaction by the driver alone."""
    db.execute("BEGIN IMMEDIATE")
    db.executemany(f"INSERT INTO bare VALUES ({MARKS})", rows)
    db.execute("COMMIT")


def bare_insert(engine: sa.Engine, rows: Sequence[Any]) -> None:
    """One transaction by psycopg alone."""
    with engine.begin() as db:
        db.exec_driver_sql(f"INSERT INTO bare VALUES ({MARKS.replace('?', '%s')})", list(rows))


def timed(act: Callable[..., Any], each: Sequence[Any] | None = None) -> float:
    """How long it takes, in seconds: once, or for each of these."""
    gc.collect()
    began = time.perf_counter()
    if each is None:
        act()
    else:
        for one in each:
            act(one)
    return time.perf_counter() - began


if __name__ == "__main__":
    main()
