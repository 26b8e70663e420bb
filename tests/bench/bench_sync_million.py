"""What asking costs where there is very much: `python tests/bench/bench_sync_million.py`, asserts nothing.

A phone that has everything asks what is new, fetches ten records that another wrote, sends one look, sends one edit:
once in a household of a thousand records and once, in the same run, in one of a million. What it costs should grow
with what has changed, and not with what there is.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from http.client import HTTPConnection
from pathlib import Path
from typing import Any

import sqlalchemy as sa

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT / "server"), str(ROOT / "tests")]

from bench.bench_sync import FAR, Phone  # noqa: E402
from bench.bench_sync_looks import edits, looks  # noqa: E402
from bench.bench_sync_merge import bodies, database, push  # noqa: E402
from holdwatch.services.access import Who, hash_password  # noqa: E402
from holdwatch.store import tables  # noqa: E402
from holdwatch.store.database import writing  # noqa: E402
from holdwatch.store.upsert import insert_rows  # noqa: E402
from people import PASSWORD, Neighbours, settle  # noqa: E402
from sync.serving import Wire, free_port, running_server  # noqa: E402

BASE = 1000
TIMES = 200


def main() -> None:
    """Measure and print."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--records", type=int, default=1_000_000)
    count = asked.parse_args().records
    with tempfile.TemporaryDirectory() as folder, household(folder, "few", BASE) as few:
        with household(folder, "many", count) as many:
            found = [measure(*house) for house in (few, many)]
    print(f"{'':44}{BASE:>12,}{count:>12,}   many / few")
    for name in found[0]:
        one, other = (house[name] for house in found)
        print(f"  {name:42}{one:12,.2f}{other:12,.2f}{other / one:13.2f}")


@contextmanager
def household(folder: str, name: str, count: int) -> Iterator[tuple[int, Neighbours, list[dict[str, Any]]]]:
    """A server with that many records, its people, and some of the looks."""
    with database(f"sqlite:///{folder}/{name}.sqlite3") as engine:
        with writing(engine) as db:
            people = settle(db, hash_password(PASSWORD), datetime.now(UTC))
        made = looks(people.owner.who, BASE)
        for body in bodies(made):
            push(engine, people.owner.who, body)
        multiply(engine, people.owner.who, count)
        port = free_port()
        with running_server(engine, port, Path(folder) / f"{name}.log"):
            yield port, people, made


def multiply(engine: sa.Engine, who: Who, count: int) -> None:
    """Copy the records under other ids until there are so many."""
    table, home = tables.record, tables.household
    with writing(engine) as db:
        rows = db.execute(sa.select(table).where(table.c.household_id == who.household_id)).all()
        revision = max(row.revision for row in rows)
        at, number = list(table.c.keys()).index("id"), list(table.c.keys()).index("revision")
        for copy in range(1, count // BASE):
            copies = []
            for row in map(list, rows):
                revision += 1
                row[at], row[number] = f"{row[at][:30]}{copy:06x}", revision
                copies.append(tuple(row))
            insert_rows(db, table, copies)
        db.execute(sa.update(home).where(home.c.household_id == who.household_id).values(revision=revision))


def measure(port: int, people: Neighbours, made: list[dict[str, Any]]) -> dict[str, float]:
    """What a phone that has everything waits for, medians."""
    with closing(HTTPConnection("127.0.0.1", port)) as connection:
        one, other = (Phone(connection, Wire(port, opened)) for opened in (people.owner, people.keeper))
        new = [one.packed([look], FAR) for look in looks(people.owner.who, TIMES, seed=1)]
        changed = [one.packed([edit], FAR) for edit in edits(made[:TIMES], {})]
        one.ask(one.packed(looks(people.owner.who, 10, seed=2), FAR))
        latest = newest(other)
        nothing, ten = other.packed([], latest), other.packed([], latest - 10)
        other.received = 0
        found = {"nothing new, ms": median_ms(lambda: other.ask(nothing))}
        found["nothing new, bytes with headers"] = other.received / TIMES
        found["ten records that are new, ms"] = median_ms(lambda: other.ask(ten))
        found["one look sent, ms"] = median_ms(lambda: one.ask(new.pop()))
        found["one edit sent, ms"] = median_ms(lambda: one.ask(changed.pop()))
    return found


def newest(phone: Phone) -> int:
    """The household's latest revision."""
    answer = phone.ask(phone.packed([], 0))
    return answer.get("upto") or answer["cursor"]


def median_ms(act: Callable[[], Any]) -> float:
    """How long it takes in the middle of many times."""
    times = []
    for _ in range(TIMES):
        began = time.perf_counter()
        act()
        times.append(time.perf_counter() - began)
    return 1000 * statistics.median(times)


if __name__ == "__main__":
    main()
