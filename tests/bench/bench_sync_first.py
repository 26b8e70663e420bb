"""The first sync of a large household: `python tests/bench/bench_sync_first.py`, prints figures, asserts nothing.

A new phone, which is a real Chromium with the built client, signs in to a household of 100,000 records; until all have
come down, each second: how much memory the server and the page's process have, what its JavaScript holds, and what the
page says of how far it is. The page itself notes every task that held it up for longer than 50 ms (the Long Tasks API).
With `--client` another build than webclient/dist is measured.
"""

from __future__ import annotations

import argparse
import os
import shutil
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import sqlalchemy as sa
from playwright.sync_api import Page, sync_playwright

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT / "server"), str(ROOT / "tests")]

from bench.bench_sync_looks import in_batches, looks  # noqa: E402
from browser.house import CLIENT, FLAGS, ZONE, running, sign_in  # noqa: E402
from holdwatch.services.access import Who, hash_password  # noqa: E402
from holdwatch.services.identity import new_identity  # noqa: E402
from holdwatch.services.sync import Push, agree  # noqa: E402
from holdwatch.store import tables  # noqa: E402
from holdwatch.store.database import open_database, writing  # noqa: E402
from holdwatch.store.migrate import migrate  # noqa: E402
from people import PASSWORD, settle  # noqa: E402
from services.notebook import Notebook, hold  # noqa: E402

LOGIN = "tamsin"
PATIENCE_SECONDS = 900
NOTE_TASKS = """
globalThis.longTasks = [];
new PerformanceObserver((seen) => {
  for (const task of seen.getEntries()) globalThis.longTasks.push([task.startTime, task.duration]);
}).observe({ type: 'longtask', buffered: true });
"""
# How many records the phone holds, counted beside the client, by a connection of its own.
COUNT = """
() => new Promise((resolve, reject) => {
  const opening = indexedDB.open('holdwatch');
  opening.onerror = () => reject(opening.error);
  opening.onsuccess = () => {
    const counting = opening.result.transaction('records').objectStore('records').count();
    counting.onsuccess = () => { opening.result.close(); resolve(counting.result); };
  };
})
"""
TOLD = "(document.body.innerText.match(/Records are coming[^.]*/) ?? [''])[0]"


@dataclass(frozen=True)
class Sample:
    """What was seen at one moment."""

    seconds: float
    records: int
    server_mib: float
    page_mib: float
    heap_mib: float
    told: str


def main() -> None:
    """Measure and print."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--records", type=int, default=100_000)
    asked.add_argument("--client", type=Path, default=CLIENT)
    asked.add_argument("--slow-down", type=int, default=1, help="how many times slower the page's processor is to seem")
    options = asked.parse_args()
    with tempfile.TemporaryDirectory() as made, sync_playwright() as driver:
        folder = Path(made)
        total = fill(folder, options.records)
        with running(folder, datetime.now(UTC), client=options.client) as house:
            context = driver.chromium.launch_persistent_context(
                folder / "phone", executable_path=shutil.which("chromium") or "chromium",
                args=[*FLAGS, "--enable-precise-memory-info"], timezone_id=ZONE, locale="en-GB",
                viewport={"width": 390, "height": 844}, bypass_csp=True,
            )  # fmt: skip
            context.add_init_script(NOTE_TASKS)
            page = context.pages[0]
            sign_in(page, house.origin, LOGIN, PASSWORD)
            slower = {"rate": options.slow_down}
            context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", slower)
            samples = list(watched(page, total))
            tasks = page.evaluate("globalThis.longTasks")
            context.close()
    show(samples, [duration for _, duration in tasks])


def fill(folder: Path, count: int) -> int:
    """A household with that many looks and a brood under way in the folder's database; how many records it has."""
    engine = open_database(f"sqlite:///{folder}/holdwatch.sqlite3")
    migrate(engine, new_identity)
    now = datetime.now(UTC)
    with writing(engine) as db:
        who = settle(db, hash_password(PASSWORD), now).owner.who
    for some in in_batches(looks(who, count), 500):
        push(engine, who, some, now)
    hold(Notebook(engine, who), now)
    with engine.begin() as db:
        records = db.scalar(sa.select(sa.func.count()).select_from(tables.record))
    engine.dispose()
    return records or 0


def push(engine: sa.Engine, who: Who, some: Sequence[object], now: datetime) -> None:
    """One push; all must be taken."""
    with writing(engine) as db:
        verdicts = agree(db, who, Push(some, 2**50, 1, False), now).verdicts
    assert {verdict.verdict for verdict in verdicts} == {"taken"}


def watched(page: Page, total: int) -> Iterator[Sample]:
    """What is seen each second until all records are there, and for three more."""
    began, rest = time.monotonic(), 3
    while rest:
        time.sleep(1)
        sample = Sample(
            time.monotonic() - began,
            page.evaluate(COUNT),
            resident_mib("served.py"),
            resident_mib("--type=renderer"),
            page.evaluate("performance.memory.usedJSHeapSize") / 2**20,
            page.evaluate(TOLD),
        )
        print(sample, file=sys.stderr, flush=True)
        yield sample
        rest -= sample.records >= total
        if sample.seconds > PATIENCE_SECONDS:
            raise SystemExit("it did not come to an end")


def resident_mib(name: str) -> float:
    """The memory of the largest of our own processes whose command names that."""
    return max((_resident_mib(pid) for pid in descendants(os.getpid()) if name in _command(pid)), default=0.0)


def descendants(pid: int) -> Iterator[int]:
    """The processes that a process started, and those that they started."""
    for children in Path(f"/proc/{pid}/task").glob("*/children"):
        for child in map(int, children.read_text().split()):
            yield child
            yield from descendants(child)


def _command(pid: int) -> str:
    return Path(f"/proc/{pid}/cmdline").read_bytes().replace(b"\0", b" ").decode()


def _resident_mib(pid: int) -> float:
    pages = int(Path(f"/proc/{pid}/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 2**20


def show(samples: Sequence[Sample], tasks: Sequence[float]) -> None:
    """The figures in short."""
    done = next(sample for sample in samples if sample.records == samples[-1].records)
    print(f"{done.records:,} records in {done.seconds:.0f} s, {done.records / done.seconds:,.0f} a second")
    for name in ("server_mib", "page_mib", "heap_mib"):
        # What was there when a tenth and when nine tenths had come.
        shares = [(sample.records / done.records, getattr(sample, name)) for sample in samples]
        early, late = (mean([mib for share, mib in shares if low <= share < low + 0.2]) for low in (0.1, 0.8))
        print(f"  {name:12} early {early:7.1f}, late {late:7.1f}, most {max(mib for _, mib in shares):7.1f}")
    told = [sample.told for sample in samples if sample.told]
    print(f"  the page said: {told[:1]} … {told[-1:]} ({len(told)} of {len(samples)} times)")
    print(f"  tasks over 50 ms: {len(tasks)}, the longest {max(tasks, default=0):.0f} ms (at most 200)")


def mean(values: Sequence[float]) -> float:
    """The mean; nothing of nothing."""
    return sum(values) / len(values) if values else float("nan")


if __name__ == "__main__":
    main()
