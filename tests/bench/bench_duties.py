"""What reminding costs: `python tests/bench/bench_duties.py`, prints medians and ratios, asserts nothing.

A scan of the queue where nobody is to be asked yet, among few households and among ten thousand, and one that looks at
200 duties that come up in two hours (so long before the first may be asked); and how many messages one worker
hands to a push service on this machine in a second, beside pywebpush alone: the same messages to the same phones by the
same library, with nothing remembered. The service answers in a process of its own and looks at nothing.
"""

from __future__ import annotations

import argparse
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import requests
import sqlalchemy as sa
from pywebpush import webpush

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT / "server"), str(ROOT / "tests")]

from cryptography.hazmat.primitives.asymmetric import ec  # noqa: E402

from channels.push_endpoint import Phone  # noqa: E402
from channels.test_push import KEY  # noqa: E402
from holdwatch.channels.endpoints import EndpointRules  # noqa: E402
from holdwatch.channels.push import PushChannel, payload  # noqa: E402
from holdwatch.channels.words import message_of  # noqa: E402
from holdwatch.domain.duties import Duty  # noqa: E402
from holdwatch.services import duties  # noqa: E402
from holdwatch.services.access import hash_password  # noqa: E402
from holdwatch.services.duties.kept import renewed, write_kept  # noqa: E402
from holdwatch.services.identity import new_identity  # noqa: E402
from holdwatch.store import tables  # noqa: E402
from holdwatch.store.database import open_database, writing  # noqa: E402
from holdwatch.store.migrate import migrate  # noqa: E402
from people import PASSWORD, settle  # noqa: E402

NOW = datetime.now(UTC).replace(microsecond=0)
DUTIES_A_HOUSEHOLD = 4
SCANS = 50
SERVICE = """
import socketserver, sys
class Answer(socketserver.StreamRequestHandler):
    def handle(self):
        while line := self.rfile.readline():
            length = 0
            while (line := self.rfile.readline()) not in (b"\\r\\n", b""):
                name, _, value = line.partition(b":")
                length = int(value) if name.lower() == b"content-length" else length
            self.rfile.read(length)
            self.wfile.write(b"HTTP/1.1 201 Created\\r\\nContent-Length: 0\\r\\n\\r\\n")
class Server(socketserver.ThreadingTCPServer):
    daemon_threads = True
with Server(("127.0.0.1", 0), Answer) as server:
    print(server.server_address[1], flush=True)
    server.serve_forever()
"""


def main() -> None:
    """Measure and print."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--messages", type=int, default=600)
    asked.add_argument("--households", type=int, default=10_000)
    asked.add_argument("--runs", type=int, default=3)
    options = asked.parse_args()
    few, many = (scan_ms(count, timedelta(hours=3)) for count in (10, options.households))
    print(f"nothing due, ms: {few:.2f} among 10 households, {many:.2f} among {options.households:,} (under 50)")
    coming = scan_ms(options.households, timedelta(hours=1))
    print(f"a scan that looks at 200 duties of the next two hours, ms: {coming:.2f}")
    with push_service() as port:
        runs = [rates(port, options.messages) for _ in range(options.runs)]
    ours, alone = (statistics.median(column) for column in zip(*runs, strict=True))
    ratio = statistics.median(one / other for one, other in runs)
    print(f"messages by one worker, /s: {ours:.0f} (at least 150), by pywebpush alone {alone:.0f}, ratio {ratio:.2f}")


@contextmanager
def push_service() -> Iterator[int]:
    """A push service in a process of its own; its port."""
    with subprocess.Popen([sys.executable, "-c", SERVICE], stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout
        try:
            yield int(process.stdout.readline())
        finally:
            process.kill()


@contextmanager
def database() -> Iterator[sa.Engine]:
    """An empty database of the newest shape."""
    with tempfile.TemporaryDirectory() as folder:
        engine = open_database(f"sqlite:///{folder}/holdwatch.sqlite3")
        migrate(engine, new_identity)
        yield engine
        engine.dispose()


def some_duty(number: int, tell_at: datetime) -> Duty:
    """A look at one of many males."""
    night = tell_at.date()
    key = f"look:brood-{number}:{night}"
    return Duty(key, "look_tonight", f"brood-{number}", date(night.year, night.month, night.day), tell_at, tell_at,
                tell_at + timedelta(hours=10))  # fmt: skip


def scan_ms(count: int, ahead: timedelta) -> float:
    """The median time of a round in which nobody is to be told, milliseconds; duties come up from so long on."""
    with database() as engine:
        with writing(engine) as db:
            settle(db, hash_password(PASSWORD), NOW)
            rows = [{"household_id": f"h{n}", "name": "", "revision": 0, "created_at": 0} for n in range(count)]
            db.execute(sa.insert(tables.household), rows)
            for number in range(count):
                wanted = [some_duty(n, NOW + ahead + timedelta(hours=n)) for n in range(DUTIES_A_HOUSEHOLD)]
                write_kept(db, f"h{number}", [renewed(duty, None, "UTC") for duty in wanted])
        times = []
        for _ in range(SCANS):
            began = time.perf_counter()
            duties.work(engine, NOW, {}, "bench")
            times.append(1000 * (time.perf_counter() - began))
    return statistics.median(times)


def rates(port: int, count: int) -> tuple[float, float]:
    """Messages a second: by the worker, and by the library alone."""
    key = ec.generate_private_key(ec.SECP256R1())
    phone = Phone("bench", f"http://127.0.0.1:{port}/phone", key, b"0123456789abcdef")
    channel = PushChannel(KEY, "mailto:operator@example.org", "https://watch.example.org", EndpointRules(loopback=True))
    with database() as engine:
        with writing(engine) as db:
            who = settle(db, hash_password(PASSWORD), NOW).owner.who
            duties.subscribe(db, who, _subscription(phone), NOW)
            due = [some_duty(n, NOW) for n in range(count)]
            write_kept(db, who.household_id, [renewed(duty, None, "UTC") for duty in due])
        began, sent = time.perf_counter(), 0
        while sent < count:
            sent += duties.work(engine, NOW, {"push": channel}, "bench").sent
        ours = count / (time.perf_counter() - began)
    session = requests.Session()
    began = time.perf_counter()
    for duty in due:
        text = payload(message_of(duty, "UTC", NOW), "https://watch.example.org")
        claims = {"sub": "mailto:operator@example.org", "aud": f"http://127.0.0.1:{port}"}
        webpush(phone.subscription(), text, KEY, claims, ttl=60, timeout=10, requests_session=session)
    return ours, count / (time.perf_counter() - began)


def _subscription(phone: Phone) -> duties.Subscription:
    given = phone.subscription()
    return duties.Subscription(given["endpoint"], **given["keys"])


if __name__ == "__main__":
    main()
