"""How quick the client is: `python tests/bench/bench_client.py`, prints times and sizes, asserts nothing.

In headless Chromium against a server on loopback with the example household: a look from the tap until it is durable
in IndexedDB with 10,000 records already there; the first card of Tonight without a connection at 4x CPU slow-down;
and the JavaScript of the first load (entry, Tonight, Look), gzipped.
"""

import gzip
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT / "server"), str(ROOT / "tests")]

from playwright.sync_api import BrowserContext, Page, sync_playwright  # noqa: E402

from browser.house import CLIENT, FLAGS, ZONE, House, running, sign_in, until  # noqa: E402
from holdwatch.example import household as ours  # noqa: E402

FILLED, WRITES, OPENINGS, SLOW_DOWN = 10_000, 100, 7, 4


def main() -> None:
    """Measure and print."""
    chromium = shutil.which("chromium") or "chromium"
    with tempfile.TemporaryDirectory() as made, sync_playwright() as driver:
        folder = Path(made)
        with running(folder, datetime.now(UTC), "--example") as house:
            context = driver.chromium.launch_persistent_context(
                folder / "phone", executable_path=chromium, args=FLAGS, timezone_id=ZONE, locale="en-GB",
                viewport={"width": 390, "height": 844}, bypass_csp=True,
            )  # fmt: skip
            print(f"first load: {first_load_bytes() / 1000:.1f} kB of JavaScript, gzipped (at most 60)")
            page = context.pages[0]
            sign_in(page, house.origin, "mira", ours.PASSWORD)
            until(page, "navigator.serviceWorker.controller !== null")
            print(f"first card offline at {SLOW_DOWN}x slow-down: {opening(context, page, house)} (at most 1 s)")
            print(f"look, tap to durable, {FILLED} records there: {writing(page, folder)} (p95 at most 50 ms)")
            context.close()


def first_load_bytes() -> int:
    """Every script that Tonight and Look load before anything is tapped, gzipped one by one."""
    entry = set(re.findall(r"/(assets/[\w.-]+\.js)", (CLIENT / "index.html").read_text()))
    pages = {f"assets/{file.name}" for name in ("Tonight", "Look") for file in (CLIENT / "assets").glob(f"{name}-*.js")}
    return sum(len(gzip.compress((CLIENT / name).read_bytes(), 9)) for name in _with_imports(entry | pages))


def _with_imports(names: set[str]) -> set[str]:
    found: set[str] = set()
    while names:
        name = names.pop()
        found.add(name)
        # Static imports only; what a page loads lazily is written import("…").
        imported = re.findall(r'(?:from|import)\s*"\./([\w.-]+\.js)"', (CLIENT / name).read_text())
        names |= {f"assets/{one}" for one in imported} - found
    return found


def opening(context: BrowserContext, page: Page, house: House) -> str:
    """From the navigation until the male's card stands, by the page's own clock."""
    context.set_offline(True)
    session = context.new_cdp_session(page)
    session.send("Emulation.setCPUThrottlingRate", {"rate": SLOW_DOWN})
    times = []
    for _ in range(OPENINGS):
        page.goto("about:blank")
        page.goto(f"{house.origin}/", wait_until="commit")
        page.get_by_role("heading", name="Quill").wait_for()
        times.append(page.evaluate("performance.now()"))
        time.sleep(0.5)
    session.send("Emulation.setCPUThrottlingRate", {"rate": 1})
    context.set_offline(False)
    return f"median {statistics.median(times):.0f} ms, best {min(times):.0f} ms"


def writing(page: Page, folder: Path) -> str:
    """The store's own write, timed in the page until its transaction has completed."""
    subprocess.run(["node", "tests/bench.mjs", str(folder / "bench")], cwd=ROOT / "webclient", check=True)
    page.add_script_tag(path=folder / "bench" / "writes.js")
    times = page.evaluate(f"holdwatchBench.timeWrites({FILLED}, {WRITES})")
    return f"median {statistics.median(times):.1f} ms, p95 {statistics.quantiles(times, n=20)[-1]:.1f} ms"


if __name__ == "__main__":
    main()
