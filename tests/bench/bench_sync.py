"""How fast sync is, beside a peer: `python tests/bench/bench_sync.py`, prints medians and ratios, asserts nothing.

A phone pushes looks over loopback to `holdwatch serve` in its own process, edits two fields of each, and another phone
pulls them all; the same is done with a server of the CouchDB protocol, turn by turn in the same run: `couch/peer.py`
tells how. Each side sends and fetches as many at once as its own client does; beside that, what the peer does at its
kindest: 500 up at once, and down the documents along with the changes. Bodies are made beforehand on both sides; what
comes down is unpacked and read on both.
"""

import argparse
import gzip
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from http.client import HTTPConnection
from pathlib import Path
from typing import Any

import orjson

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT / "server"), str(ROOT / "tests")]

from bench.bench_sync_looks import as_json, document, edits, in_batches, looks  # noqa: E402
from bench.couch.peer import Peer, install, running_peer, to_push  # noqa: E402
from holdwatch.records.kinds import SCHEMA_NUMBER  # noqa: E402
from holdwatch.services.access import hash_password  # noqa: E402
from holdwatch.services.identity import new_identity  # noqa: E402
from holdwatch.store.database import open_database, writing  # noqa: E402
from holdwatch.store.migrate import migrate  # noqa: E402
from people import PASSWORD, Neighbours, settle  # noqa: E402
from sync.pushing import said_once, values  # noqa: E402
from sync.serving import Wire, free_port, running_server  # noqa: E402

BATCH, KIND_PAGE = 500, 1000
# PouchDB's own, for both ways (pouchdb.com/api.html, "Replicate a database": batch_size).
THEIR_BATCH = 100
FAR = 2**50
# As a browser's CompressionStream packs.
LEVEL = 6


@dataclass(frozen=True)
class Line:
    """One line of the table: what was measured on both sides, and what is wanted of the ratio."""

    name: str
    ours: float
    theirs: float | None = None
    wanted: str = ""


def main() -> None:
    """Measure and print."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--records", type=int, default=10_000)
    asked.add_argument("--runs", type=int, default=5)
    options = asked.parse_args()
    install()
    runs = []
    for number in range(options.runs):
        print(f"run {number + 1} of {options.runs} …", file=sys.stderr, flush=True)
        runs.append(measure(options.records))
    print(f"{options.records:,} records, {options.runs} runs, medians{'':22}ours{'':8}peer  ours / peer")
    for lines in zip(*runs, strict=True):
        print(told(lines))


def told(lines: Sequence[Line]) -> str:
    """The medians of one line of every run, and the median of the ratios."""
    first = lines[0]
    text = f"  {first.name:46}{statistics.median(line.ours for line in lines):12,.1f}"
    pairs = [(line.ours, line.theirs) for line in lines if line.theirs]
    if not pairs:
        return f"{text}  {first.wanted}"
    theirs, ratio = statistics.median(b for _, b in pairs), statistics.median(a / b for a, b in pairs)
    return f"{text}{theirs:12,.1f}{ratio:13.3f}  {first.wanted}"


def measure(count: int) -> list[Line]:
    """One run on fresh databases."""
    with tempfile.TemporaryDirectory() as folder, running_peer(Path(folder) / "peer") as peer:
        with our_server(Path(folder)) as (port, people):
            with closing(HTTPConnection("127.0.0.1", port)) as connection:
                one = Phone(connection, Wire(port, people.owner))
                other = Phone(connection, Wire(port, people.keeper))
                made = looks(people.owner.who, count)
                more = looks(people.owner.who, count, seed=2)
                return [*up(one, peer, made), *along(one, more), *down(other, peer, 2 * count)]


@contextmanager
def our_server(folder: Path) -> Iterator[tuple[int, Neighbours]]:
    """`holdwatch serve` on an empty database, and its people."""
    engine = open_database(f"sqlite:///{folder}/holdwatch.sqlite3")
    migrate(engine, new_identity)
    with writing(engine) as db:
        people = settle(db, hash_password(PASSWORD), datetime.now(UTC))
    port = free_port()
    with running_server(engine, port, folder / "server.log"):
        yield port, people
    engine.dispose()


class Phone:
    """A phone's line to our server."""

    def __init__(self, connection: HTTPConnection, wire: Wire) -> None:
        self.connection = connection
        self.headers = wire.headers() | {"Content-Encoding": "gzip", "Accept-Encoding": "gzip"}
        self.received = 0

    def packed(self, changes: Sequence[Any], cursor: int) -> bytes:
        """A request as the client packs it."""
        changes = [said_once(change) for change in changes]
        asked = {"schema": SCHEMA_NUMBER, "device": "ab12cd34", "cursor": cursor, "epoch": None, "changes": changes}
        return gzip.compress(as_json(asked), LEVEL, mtime=0)

    def ask(self, packed: bytes) -> dict[str, Any]:
        """One round trip."""
        self.connection.request("POST", "/api/v1/sync", packed, self.headers)
        answer = self.connection.getresponse()
        body = answer.read()
        if answer.status != 200:
            raise SystemExit(f"{answer.status}: {body[:200]!r}")
        head = f"HTTP/1.1 200 OK\n{answer.headers}".replace("\n", "\r\n")
        self.received += len(body) + len(head)
        return orjson.loads(gzip.decompress(body) if answer.headers["Content-Encoding"] == "gzip" else body)

    def push(self, batches: Sequence[bytes]) -> None:
        """Send what was prepared; all of it must be taken."""
        for packed in batches:
            verdicts = {verdict["verdict"] for verdict in self.ask(packed)["verdicts"]}
            assert verdicts == {"taken"}, verdicts

    def pull(self, cursor: int = 0) -> dict[str, int]:
        """Pull every page: the revision of each record."""
        revisions, more = {}, True
        while more:
            answer = self.ask(self.packed([], cursor))
            revisions |= {row["id"]: row["revision"] for row in answer["rows"]}
            cursor, more = answer["cursor"], answer["more"]
        return revisions


def up(one: Phone, peer: Peer, made: list[Any]) -> list[Line]:
    """Push all, then edit two fields of each."""
    batches = [one.packed(some, FAR) for some in in_batches(made, BATCH)]
    documents = [document(change) for change in made]
    theirs, kind = to_push(documents, THEIR_BATCH), to_push([anew(document) for document in documents], BATCH)
    push_s, theirs_s, kindly_s = in_turn(lambda: one.push(batches), lambda: peer.push(theirs), lambda: peer.push(kind))
    changed = edits(made, one.pull())
    edit_batches = [one.packed(some, FAR) for some in in_batches(changed, BATCH)]
    whole = [document(change, before) for change, before in zip(changed, made, strict=True)]
    their_edits = to_push(whole, THEIR_BATCH)
    edit_s, their_edit_s = in_turn(lambda: one.push(edit_batches), lambda: peer.push(their_edits))
    count = len(made)
    return [
        Line("bytes of a bare record", sum(len(as_json(values(one))) for one in made) / count),
        Line("push, records/s", count / push_s, count / theirs_s, "at least 2"),
        Line("  beside its kindest way", count / push_s, count / kindly_s),
        Line("  bytes up a record", size(batches) / count, posted(theirs) / count, "at most 0.2"),
        Line("two-field edits, edits/s", count / edit_s, count / their_edit_s),
        Line("  bytes up an edit", size(edit_batches) / count, posted(their_edits) / count, "at most 0.125"),
    ]


def anew(document: dict[str, Any]) -> dict[str, Any]:
    """The same document under another id."""
    return {**document, "_id": document["_id"][::-1]}


def along(one: Phone, more: list[Any]) -> list[Line]:
    """Push as the client does, which is told with each answer what the server made of it."""
    cursor = max(one.pull().values())
    began = time.perf_counter()
    for some in in_batches(more, BATCH):
        cursor = one.ask(one.packed(some, cursor))["cursor"]
    return [Line("push with its own page back, records/s", len(more) / (time.perf_counter() - began))]


def down(other: Phone, peer: Peer, count: int) -> list[Line]:
    """Pull all to another phone, then pull nothing."""
    other.received = 0
    ours, theirs, kindly = in_turn(other.pull, lambda: peer.pull(THEIR_BATCH), lambda: peer.pull_kindly(KIND_PAGE))
    received = other.received
    documents, sent = peer.pull(KIND_PAGE)
    other.received = 0
    nothing = other.packed([], FAR)
    times = [in_turn(lambda: other.ask(nothing))[0] for _ in range(50)]
    return [
        Line("pull, records/s", count / ours, documents / theirs, "at least 4"),
        Line("  beside its kindest way", count / ours, documents / kindly),
        Line("  bytes down a record", received / count, sent / documents),
        Line("a pull with nothing new, ms", 1000 * statistics.median(times), wanted="under 5"),
        Line("a pull with nothing new, bytes with headers", other.received / len(times), wanted="under 400"),
    ]


def size(batches: Sequence[bytes]) -> int:
    """How many bytes these are."""
    return sum(map(len, batches))


def posted(requests: Sequence[tuple[str, bytes]]) -> int:
    """How many bytes these post."""
    return size([body for _, body in requests])


def in_turn(*acts: Callable[[], Any]) -> list[float]:
    """How long each takes, in seconds, one after the other."""
    times = []
    for act in acts:
        began = time.perf_counter()
        act()
        times.append(time.perf_counter() - began)
    return times


if __name__ == "__main__":
    main()
