"""What a round of the loop costs while nothing is to be done: `python tests/bench/bench_ageing.py`, asserts nothing.

A database of many households with a forecast each. Beside the time to find which forecasts have grown old, in the same
run: the time to read every forecast and judge it by its lamps, which is what would have to be done without the table
that says when each grows old.
"""

import argparse
import json
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import sqlalchemy as sa

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT / "server"), str(ROOT / "tests")]

from holdwatch.config import load_profiles  # noqa: E402
from holdwatch.records.instants import milliseconds  # noqa: E402
from holdwatch.services.access import hash_password  # noqa: E402
from holdwatch.services.forecasts import ask_for_aged, issue_asked  # noqa: E402
from holdwatch.services.forecasts.ageing import grows_old_at  # noqa: E402
from holdwatch.services.identity import new_identity  # noqa: E402
from holdwatch.store import tables  # noqa: E402
from holdwatch.store.database import open_database, reading, writing  # noqa: E402
from holdwatch.store.migrate import migrate  # noqa: E402
from people import PASSWORD, START, settle  # noqa: E402
from services.notebook import Notebook, hold  # noqa: E402


def main() -> None:
    """Measure and print."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--households", type=int, default=10_000)
    count = asked.parse_args().households
    with tempfile.TemporaryDirectory() as folder:
        engine = open_database(f"sqlite:///{folder}/holdwatch.sqlite3")
        migrate(engine, new_identity)
        size = fill(engine, count)
        all_s = best(lambda: read_all(engine))
        idle_s = best(lambda: ask_for_aged(engine, START))
        aged_s, aged = timed(lambda: ask_for_aged(engine, START + timedelta(days=1)))
        engine.dispose()
    print(f"{count} households, one forecast of {size:,} bytes each:")
    print(f"  reading every forecast, s            {all_s:12.4f}")
    print(f"  asking which have grown old, s       {idle_s:12.4f}   {all_s / idle_s:,.0f} times as fast")
    print(f"  asking for {aged} grown old at once, s{aged_s:12.4f}")


def fill(engine: sa.Engine, count: int) -> int:
    """One real forecast, copied to as many households; its size."""
    with writing(engine) as db:
        people = settle(db, hash_password(PASSWORD), START)
    notebook = Notebook(engine, people.owner.who)
    brood = hold(notebook, START)
    issue_asked(engine, load_profiles(), START)
    body = notebook.derived("forecast", brood)
    old_at, text = milliseconds(grows_old_at(body, START)), json.dumps(body)
    names = [{"household_id": f"household-{number}"} for number in range(count - 1)]
    with writing(engine) as db:
        home = {"name": "copied", "revision": 1, "created_at": 0}
        db.execute(sa.insert(tables.household), [one | home for one in names])
        said = {"kind": "forecast", "about": brood, "body": text, "revision": 1}
        db.execute(sa.insert(tables.derived), [one | said for one in names])
        db.execute(sa.insert(tables.ageing), [one | {"brood_id": brood, "old_at": old_at} for one in names])
    return len(text)


def read_all(engine: sa.Engine) -> int:
    """How many forecasts have grown old, told from every body."""
    with reading(engine) as db:
        bodies = db.scalars(sa.select(tables.derived.c.body).where(tables.derived.c.kind == "forecast"))
        return sum(grows_old_at(json.loads(body), START) <= START for body in bodies)


def best(act: Callable[[], Any], runs: int = 3) -> float:
    """The shortest of a few runs, in seconds."""
    return min(timed(act)[0] for _ in range(runs))


def timed(act: Callable[[], Any]) -> tuple[float, Any]:
    """How long it takes, in seconds, and what it returns."""
    begun = time.perf_counter()
    result = act()
    return time.perf_counter() - begun, result


if __name__ == "__main__":
    main()
