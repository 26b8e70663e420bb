"""The application behind the web server that `serve` runs, on a real socket."""

from __future__ import annotations

import json
import re
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.client import HTTPConnection

import pytest
from flask import Flask
from waitress import wasyncore

from holdwatch.config import BadSetting, Settings, check_origin
from holdwatch.listening import listening, serving_at
from holdwatch.services.access import new_setup_code
from holdwatch.store.database import writing
from people import PASSWORD

FOUNDING = {"household": "Reedmarsh Lane", "name": "Ilka", "login": "ilka", "password": PASSWORD}
USUAL = {"Sec-Fetch-Site": "same-origin", "Content-Type": "application/json"}


@pytest.fixture
def port(app: Flask) -> Iterator[int]:
    sockets: dict = {}
    stop = threading.Event()
    server = serving_at(app, "127.0.0.1:0", sockets)
    thread = threading.Thread(target=turn, args=(sockets, stop))
    thread.start()
    yield server.effective_port
    stop.set()
    thread.join()
    # The workers first: one that is still busy would pull a trigger that is closed.
    server.task_dispatcher.shutdown()
    for open_one in list(sockets.values()):
        open_one.close()


def turn(sockets: dict, stop: threading.Event) -> None:
    """The server's loop, until it is stopped."""
    while not stop.is_set():
        wasyncore.loop(timeout=0.05, map=sockets, count=1)


def ask(port: int, path: str, body: object, headers: dict[str, str], method: str = "POST") -> tuple[int, dict]:
    connection = HTTPConnection("127.0.0.1", port, timeout=20)
    try:
        chunked = not isinstance(body, bytes | str)
        connection.request(method, f"/api/v1/{path}", body, USUAL | headers, encode_chunked=chunked)
        answer = connection.getresponse()
        return answer.status, json.loads(answer.read() or b"null")
    finally:
        connection.close()


@contextmanager
def raw(port: int, sent: bytes) -> Iterator[bytes]:
    with socket.create_connection(("127.0.0.1", port), timeout=20) as connection:
        connection.sendall(sent)
        yield whole_answer(connection)


def whole_answer(connection: socket.socket) -> bytes:
    """The head of an answer, and as much after it as it says there is."""
    with connection.makefile("rb") as answer:
        head = b"".join(iter(answer.readline, b"\r\n")) + b"\r\n"
        length = re.search(rb"(?i)^content-length: (\d+)", head, re.MULTILINE)
        return head + (answer.read(int(length[1])) if length else b"")


def check_refused_in_our_words(answer: bytes, status: int, code: str) -> None:
    head, _, body = answer.partition(b"\r\n\r\n")
    assert head.startswith(b"HTTP/1.1 %d " % status) or head.startswith(b"HTTP/1.0 %d " % status), head
    assert b"Content-Type: application/json" in head and b"default-src 'none'" in head
    assert set(json.loads(body)["error"]) == {"code", "message", "where"}
    assert json.loads(body)["error"]["code"] == code


@pytest.mark.parametrize("header", ["X-Forwarded-For", "Forwarded", "X-Forwarded-Host", "X-Real-IP", "Via"])
def test_nobody_sets_up_through_a_proxy_on_the_same_machine(port, engine, clock, header):
    with writing(engine) as db:
        code = new_setup_code(db, clock.now())
    body = json.dumps(FOUNDING | {"code": code})
    status, answer = ask(port, "setup", body, {header: "for=203.0.113.9"})
    assert (status, answer["error"]["code"]) == (403, "not_allowed")
    assert ask(port, "setup", body, {})[0] == 201


def test_a_body_in_pieces_is_read_and_bounded_too(port):
    small = iter([b'{"login":"ilka",', b'"password":"not the password"}'])
    assert ask(port, "sign-in", small, {"Transfer-Encoding": "chunked"})[0] == 401
    large = iter([b'{"login":"'] + [b"x" * 100_000] * 12 + [b'"}'])
    status, answer = ask(port, "sign-in", large, {"Transfer-Encoding": "chunked"})
    assert (status, answer["error"]["code"]) == (413, "too_large")


def test_a_body_of_many_megabytes_is_not_even_taken(port):
    head = b"POST /api/v1/sync HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 900000000\r\n\r\n"
    with raw(port, head) as answer:
        check_refused_in_our_words(answer, 413, "too_large")


def test_a_body_in_pieces_that_never_ends_is_refused_in_our_words(port):
    head = b"POST /api/v1/sync HTTP/1.1\r\nHost: 127.0.0.1\r\nTransfer-Encoding: chunked\r\n\r\n"
    with raw(port, head + b"200001\r\n" + b"x" * 0x200001 + b"\r\n0\r\n\r\n") as answer:
        check_refused_in_our_words(answer, 413, "too_large")


def test_headers_beyond_all_sense_are_refused_in_our_words(port):
    with raw(port, b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Long: " + b"x" * 300_000 + b"\r\n\r\n") as answer:
        check_refused_in_our_words(answer, 431, "request_header_fields_too_large")


@pytest.mark.parametrize(
    "sent",
    [
        b"GET /api/v1/me HTTP/1.0\r\n\r\n",
        b"GET /api/v1/me HTTP/1.1\r\nHost: a\r\nHost: 127.0.0.1\r\n\r\n",
        b"GET /%ff%fe HTTP/1.1\r\nHost: evil.example\r\n\r\n",
        b"POST /api/v1/sync HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: -1\r\n\r\n",
        b"POST /api/v1/me HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 2\r\nTransfer-Encoding: chunked\r\n\r\nxx\r\n",
        b"nonsense\r\n\r\n",
    ],
)
def test_a_strange_request_is_the_askers_fault(port, sent):
    with raw(port, sent) as answer:
        assert answer.split(b" ")[1][:1] == b"4", answer
        assert set(json.loads(answer.partition(b"\r\n\r\n")[2])["error"]) == {"code", "message", "where"}


def test_the_answer_names_no_software(port):
    with raw(port, b"GET /api/v1/health HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n") as answer:
        assert b"200 OK" in answer
        assert b"waitress" not in answer.lower()


def settings_at(origin: str, private: bool = False) -> Settings:
    return Settings("", origin, None, "mailto:operator@example.org", plain_http_private=private)


def test_it_listens_on_loopback_and_where_plain_http_was_allowed():
    assert listening(settings_at("https://holdwatch.example"), 8790) == "127.0.0.1:8790"
    assert listening(settings_at("http://localhost:8790"), 8790) == "127.0.0.1:8790"
    home = settings_at("http://192.168.1.5:8790", private=True)
    assert listening(home, 8790) == "127.0.0.1:8790 192.168.1.5:8790"


@pytest.mark.parametrize(
    "origin", ["https://holdwatch.example", "https://holdwatch.example:8443", "http://127.0.0.1:8790", "http://[::1]:1"]
)
def test_an_origin_as_browsers_write_it_is_taken(origin):
    check_origin(origin, plain_http_private=False)


@pytest.mark.parametrize(
    "origin",
    [
        "",
        "holdwatch.example",
        "ftp://holdwatch.example",
        "https://Holdwatch.example",
        "https://holdwatch.example/path",
        "https://holdwatch.example:443",
        "https://user@holdwatch.example",
        "http://holdwatch.example",
        "http://192.168.1.5:8790",
    ],
)
def test_an_origin_that_no_browser_would_send_is_refused(origin):
    with pytest.raises(BadSetting, match="HOLDWATCH_ORIGIN"):
        check_origin(origin, plain_http_private=False)


@pytest.mark.parametrize("origin", ["http://0.0.0.0:8790", "http://8.8.8.8", "http://[::]:8790"])
def test_plain_http_is_never_for_the_whole_world(origin):
    with pytest.raises(BadSetting, match="plain http"):
        check_origin(origin, plain_http_private=True)
