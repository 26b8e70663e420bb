"""The peer: a server of the CouchDB protocol in a process of its own, and what a phone of its world says to it.

Over the wire goes what the protocol of replication asks for (docs.couchdb.org, "CouchDB Replication Protocol"). Up:
`_revs_diff`, then `_bulk_docs` with the revisions that the phone gave. Down: `_changes`, then `_bulk_get`; or, which is
kinder than its own clients are, `_changes` with the documents in it. Nothing is packed, as those pack nothing.
"""

from __future__ import annotations

import subprocess
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from http.client import HTTPConnection
from pathlib import Path
from typing import Any

import orjson

from bench.bench_sync_looks import as_json, in_batches

HERE = Path(__file__).parent
JSON = {"Content-Type": "application/json", "Accept-Encoding": "identity"}
Request = tuple[str, bytes]
"""A path below the database and a body to post."""


def install() -> None:
    """Install the peer beside this file from its own lock, once."""
    if not (HERE / "node_modules" / ".package-lock.json").is_file():
        print("installing the peer (once) …", flush=True)
        # Its drivers come built; nothing of it needs a script of its own to be installed.
        subprocess.run(["npm", "ci", "--ignore-scripts", "--silent"], cwd=HERE, check=True)


@contextmanager
def running_peer(folder: Path) -> Iterator[Peer]:
    """The peer with an empty database in the folder; killed at the end."""
    folder.mkdir()
    command = ["node", str(HERE / "serve.js"), str(folder)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout
        try:
            with closing(HTTPConnection("127.0.0.1", int(process.stdout.readline()))) as connection:
                peer = Peer(connection)
                peer.ask("PUT", "")
                yield peer
        finally:
            process.kill()


class Peer:
    """A phone's line to the peer."""

    def __init__(self, connection: HTTPConnection) -> None:
        self.connection = connection

    def ask(self, method: str, path: str, body: bytes | None = None) -> bytes:
        """One round trip."""
        self.connection.request(method, f"/house{path}", body, JSON)
        answer = self.connection.getresponse()
        text = answer.read()
        if answer.status not in (200, 201):
            raise SystemExit(f"the peer answered {answer.status}: {text[:200]!r}")
        return text

    def push(self, requests: Sequence[Request]) -> None:
        """Send what was prepared; the peer must take all of it."""
        for path, body in requests:
            answer = orjson.loads(self.ask("POST", path, body))
            # Every revision was missing there, and none met an error.
            assert path == "/_bulk_docs" and answer == [] or path == "/_revs_diff" and answer, answer

    def pull(self, page: int) -> tuple[int, int]:
        """Pull all as its clients do: (documents, bytes)."""
        documents = received = 0
        for changed, size in self._changes(page, "style=all_docs"):
            wanted = [{"id": row["id"], "rev": row["changes"][0]["rev"]} for row in changed]
            text = self.ask("POST", "/_bulk_get?revs=true&latest=true", as_json({"docs": wanted}))
            documents += len(orjson.loads(text)["results"])
            received += size + len(text)
        return documents, received

    def pull_kindly(self, page: int) -> tuple[int, int]:
        """Pull all with the documents in the changes: (documents, bytes)."""
        pages = [(len(changed), size) for changed, size in self._changes(page, "include_docs=true")]
        return sum(count for count, _ in pages), sum(size for _, size in pages)

    def _changes(self, page: int, how: str) -> Iterator[tuple[list[dict[str, Any]], int]]:
        since = 0
        while True:
            text = self.ask("GET", f"/_changes?{how}&limit={page}&since={since}")
            answer = orjson.loads(text)
            if not answer["results"]:
                return
            yield answer["results"], len(text)
            since = answer["last_seq"]


def to_push(documents: Sequence[dict[str, Any]], batch: int) -> list[Request]:
    """What a phone asks and sends to bring these documents up."""
    requests = []
    for some in in_batches(documents, batch):
        requests.append(("/_revs_diff", as_json({one["_id"]: [one["_rev"]] for one in some})))
        requests.append(("/_bulk_docs", as_json({"docs": some, "new_edits": False})))
    return requests
