"""How quick the client is: `python tests/bench/bench_client.py [BUILD ...]`, prints times and sizes, asserts nothing.

In headless Chromium against a server on loopback with the example household: a look from the tap until it is durable
in IndexedDB with 10,000 records already there; the first card of Tonight without a connection at 4x CPU slow-down;
and the JavaScript of the first load (entry, Tonight, Look), gzipped. Where folders of builds are named, only their
first cards are timed, turn by turn, so that what else the machine does meets all of them alike.
"""

import gzip
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from datetime import UTC, datetime
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT / "server"), str(ROOT / "tests")]

from playwright.sync_api import Page, Playwright, sync_playwright  # noqa: E402

from browser.house import CLIENT, FLAGS, ZONE, House, running, sign_in, until  # noqa: E402
from holdwatch.example import household as ours  # noqa: E402

FILLED, WRITES, OPENINGS, SLOW_DOWN = 10_000, 100, 15, 4
# The page itself notes when the male's card has been painted: asking from outside would cost it time.
NOTE_CARD = """
new MutationObserver((_, seeing) => {
  if (document.querySelector('article h2') === null) return;
  seeing.disconnect();
  requestAnimationFrame(() => setTimeout(() => (globalThis.cardAt = performance.now())));
}).observe(document, { childList: true, subtree: true });
"""


def main(*builds: str) -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as made, sync_playwright() as driver:
        if builds:
            return in_turn(driver, Path(made), [Path(build) for build in builds])
        print(f"first load: {first_load_bytes() / 1000:.1f} kB of JavaScript, gzipped (at most 60)")
        with kept_phone(driver, Path(made), CLIENT) as (page, house):
            page.context.set_offline(True)
            times = [opening(page, house) for _ in range(OPENINGS)]
            print(f"first card offline at {SLOW_DOWN}x slow-down: {told(times)}")
            page.context.set_offline(False)
            print(f"look, tap to durable, {FILLED} records there: {writing(page, Path(made))} (p95 at most 50 ms)")


def in_turn(driver: Playwright, folder: Path, builds: list[Path]) -> None:
    """Open each build once, then each once more, and so on."""
    with ExitStack() as open_phones:
        phones = [
            open_phones.enter_context(kept_phone(driver, folder / str(n), build)) for n, build in enumerate(builds)
        ]
        for page, _ in phones:
            page.context.set_offline(True)
        times = [[opening(*phone) for phone in phones] for _ in range(OPENINGS)]
    for build, own in zip(builds, zip(*times, strict=True), strict=True):
        print(f"{build}: first card offline at {SLOW_DOWN}x slow-down: {told(own)}")


@contextmanager
def kept_phone(driver: Playwright, folder: Path, build: Path) -> Iterator[tuple[Page, House]]:
    """A phone that keeps that build and the example household, and the server it came from."""
    chromium = shutil.which("chromium") or "chromium"
    folder.mkdir(exist_ok=True)
    with running(folder, datetime.now(UTC), "--example", client=build) as house:
        context = driver.chromium.launch_persistent_context(
            folder / "phone", executable_path=chromium, args=FLAGS, timezone_id=ZONE, locale="en-GB",
            viewport={"width": 390, "height": 844}, bypass_csp=True,
        )  # fmt: skip
        context.add_init_script(NOTE_CARD)
        page = context.pages[0]
        sign_in(page, house.origin, "mira", ours.PASSWORD)
        page.get_by_role("heading", name="Quill").wait_for()
        until(page, "navigator.serviceWorker.controller !== null")
        yield page, house
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


def opening(page: Page, house: House) -> float:
    """Milliseconds from the navigation until the male's card is painted, by the page's own clock."""
    page.goto("about:blank")
    with slowed_down(page):
        page.goto(f"{house.origin}/", wait_until="commit")
        page.get_by_role("heading", name="Quill").wait_for()
        until(page, "globalThis.cardAt !== undefined")
    time.sleep(0.5)
    return page.evaluate("globalThis.cardAt")


@contextmanager
def slowed_down(page: Page) -> Iterator[None]:
    """A slow processor meanwhile; not for longer, since Chromium slows a page down by keeping the machine busy."""
    session = page.context.new_cdp_session(page)
    session.send("Emulation.setCPUThrottlingRate", {"rate": SLOW_DOWN})
    yield
    session.send("Emulation.setCPUThrottlingRate", {"rate": 1})
    session.detach()


def told(times: Sequence[float]) -> str:
    """The times in short."""
    low, middle, high = statistics.quantiles(times, n=4)
    return f"median {middle:.0f} ms, middle half {low:.0f} to {high:.0f}, best {min(times):.0f} (at most 1000)"


def writing(page: Page, folder: Path) -> str:
    """The store's own write, timed in the page until its transaction has completed."""
    subprocess.run(["node", "tests/bench.mjs", str(folder / "bench")], cwd=ROOT / "webclient", check=True)
    page.add_script_tag(path=folder / "bench" / "writes.js")
    times = page.evaluate(f"holdwatchBench.timeWrites({FILLED}, {WRITES})")
    return f"median {statistics.median(times):.1f} ms, p95 {statistics.quantiles(times, n=20)[-1]:.1f} ms"


if __name__ == "__main__":
    main(*sys.argv[1:])
