"""What is checked before every view, and what is written on every answer."""

from __future__ import annotations

import gzip
import json

import pytest

from holdwatch.app import create_app
from holdwatch.config import Settings
from holdwatch.web import bodies
from people import ORIGIN, Visitors, at_the_door

INVITATION = {"name": "Wim", "role": "keeper"}
HTTPS = Settings("", "https://holdwatch.example", None, "mailto:operator@example.org")


def unsafe(visitors: Visitors, headers: dict[str, str]) -> int:
    client = visitors.owner.client
    answer = client.post("/api/v1/invitations", json=INVITATION, base_url=ORIGIN, headers=headers)
    if answer.status_code == 403:
        assert answer.json["error"]["code"] == "cross_site"
    return answer.status_code


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"Sec-Fetch-Site": "same-origin"}, 201),
        ({"Origin": ORIGIN}, 201),
        ({"Sec-Fetch-Site": "same-origin", "Origin": ORIGIN}, 201),
        ({}, 403),
        ({"Sec-Fetch-Site": "cross-site"}, 403),
        ({"Sec-Fetch-Site": "same-site"}, 403),
        ({"Sec-Fetch-Site": "none"}, 403),
        ({"Sec-Fetch-Site": "cross-site", "Origin": ORIGIN}, 403),
        ({"Origin": "null"}, 403),
        ({"Origin": "http://127.0.0.1:8791"}, 403),
        ({"Origin": "https://127.0.0.1:8790"}, 403),
        ({"Origin": ORIGIN + ".evil.example"}, 403),
        ({"Referer": ORIGIN + "/"}, 403),
    ],
)
def test_changes_come_from_our_own_pages_only(visitors: Visitors, headers, status):
    assert unsafe(visitors, headers) == status


@pytest.mark.parametrize("path", ["setup", "sign-in", "join", "invitations/look", "sign-out", "sync"])
def test_no_door_is_open_to_other_sites_even_to_the_signed_out(visitors: Visitors, path):
    for visitor in (visitors.signed_out, visitors.owner):
        answer = visitor.post(f"/api/v1/{path}", {}, headers={"Sec-Fetch-Site": "cross-site"})
        assert (answer.status_code, answer.json["error"]["code"]) == (403, "cross_site")


@pytest.mark.parametrize("host", ["evil.example", "evil.example:8790", "127.0.0.1.evil.example", "10.0.0.1:8790", "["])
def test_a_request_by_another_name_is_refused(visitors: Visitors, host):
    answer = visitors.owner.get("/api/v1/me", headers={"Host": host})
    assert (answer.status_code, answer.json["error"]["code"]) == (421, "wrong_host")
    assert visitors.owner.get("/", headers={"Host": host}).status_code == 421


@pytest.mark.parametrize("host", ["127.0.0.1:8790", "localhost:8790", "[::1]:8790", "localhost"])
def test_this_machines_own_names_are_welcome(visitors: Visitors, host):
    assert visitors.signed_out.get("/api/v1/health", headers={"Host": host}).status_code == 200


def test_no_answer_opens_the_door_to_other_origins(visitors: Visitors):
    for path in ("/api/v1/health", "/api/v1/me", "/"):
        for method in ("GET", "OPTIONS"):
            asking = {"Origin": "https://evil.example", "Access-Control-Request-Method": "POST"}
            answer = visitors.owner.ask(method, path, headers=asking)
            assert not [name for name in answer.headers.keys() if name.startswith("Access-Control")]


def test_answers_of_the_api_carry_the_closed_policy_and_are_not_kept(visitors: Visitors):
    for path in ("/api/v1/health", "/api/v1/me", "/api/v1/nothing-here", "/api/v1/openapi.json"):
        headers = visitors.signed_out.get(path).headers
        assert headers["Content-Security-Policy"] == "default-src 'none'"
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert headers["Cache-Control"] == "no-store"
        assert headers["Content-Type"] == "application/json"


def test_pages_carry_the_strict_policy(visitors: Visitors):
    headers = visitors.signed_out.get("/").headers
    policy = headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy and "frame-ancestors 'none'" in policy
    assert "trusted-types svelte-trusted-html holdwatch" in policy
    assert "unsafe" not in policy
    assert headers["Referrer-Policy"] == "no-referrer"
    assert headers["X-Content-Type-Options"] == "nosniff"


def test_https_is_asked_to_stay_https(engine, clock, visitors: Visitors):
    assert "Strict-Transport-Security" not in visitors.signed_out.get("/").headers
    client = create_app(HTTPS, engine, clock.now).test_client()
    headers = client.get("/", base_url="https://holdwatch.example").headers
    assert headers["Strict-Transport-Security"] == "max-age=31536000"


def test_a_body_over_the_limit_is_refused_before_it_is_read(visitors: Visitors):
    for path in ("/api/v1/sign-in", "/api/v1/sync", "/api/v1/sign-out"):
        body = b'{"login":"' + b"x" * 1024 * 1024 + b'"}'
        answer = visitors.owner.post(path, data=body, content_type="application/json")
        assert (answer.status_code, answer.json["error"]["code"]) == (413, "too_large")


def test_what_is_not_json_is_refused(visitors: Visitors):
    for kind in (
        "text/plain",
        "application/x-www-form-urlencoded",
        "multipart/form-data; boundary=x",
        "application/xml",
    ):
        answer = visitors.signed_out.post("/api/v1/sign-in", data=b'{"login":"a","password":"b"}', content_type=kind)
        assert (answer.status_code, answer.json["error"]["code"]) == (415, "not_json")


def test_a_compressed_body_is_read_and_a_bomb_is_not(visitors: Visitors):
    fair = gzip.compress(json.dumps(INVITATION).encode())
    assert gzipped(visitors, fair).status_code == 201
    bomb = gzip.compress(b'{"name":"' + b" " * 50_000_000 + b'"}')
    assert len(bomb) < 1024 * 1024
    assert gzipped(visitors, bomb).status_code == 413


# Without the second at which it was packed: two processes must find the same tests.
PACKED = gzip.compress(b"{}", mtime=0)


@pytest.mark.parametrize("body", [b"", b"\x1f\x8b", b"not gzip", PACKED[:-3], PACKED + b"more"])
def test_broken_gzip_is_a_bad_request(visitors: Visitors, body):
    answer = gzipped(visitors, body)
    assert (answer.status_code, answer.json["error"]["code"]) in ((400, "bad_request"), (422, "invalid"))


def gzipped(visitors: Visitors, body: bytes):
    headers = {"Content-Encoding": "gzip"}
    return visitors.owner.post("/api/v1/invitations", data=body, content_type="application/json", headers=headers)


def test_other_compression_is_refused(visitors: Visitors):
    answer = visitors.owner.post(
        "/api/v1/invitations", data=b"{}", content_type="application/json", headers={"Content-Encoding": "br"}
    )
    assert answer.status_code == 415


def test_answers_are_compressed_for_whoever_takes_gzip(visitors: Visitors):
    plain = visitors.signed_out.get("/api/v1/openapi.json")
    packed = visitors.signed_out.get("/api/v1/openapi.json", headers={"Accept-Encoding": "gzip"})
    assert packed.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(packed.data) == plain.data
    assert len(packed.data) < len(plain.data) / 3
    assert int(packed.headers["Content-Length"]) == len(packed.data)
    for answer in (plain, packed):
        assert "Accept-Encoding" in answer.headers["Vary"]


def test_every_part_of_the_api_reads_bodies_by_the_strict_parser(app):
    # The others are pages, and read no bodies.
    parts = [part for name, part in app.blueprints.items() if name not in ("client", "api-docs", "duty_links")]
    assert len(parts) >= 5
    assert [part.name for part in parts if not isinstance(part, bodies.Blueprint)] == []


def test_a_server_that_made_a_mistake_says_so_in_the_one_shape(settings, engine, clock):
    app = create_app(settings, engine, clock.now)
    engine.dispose()
    broken = at_the_door(app, None)
    app.view_functions["health.Health"] = lambda: 1 / 0
    answer = broken.get("/api/v1/health")
    assert (answer.status_code, answer.json["error"]["code"]) == (500, "our_fault")
    assert "division" not in answer.text
