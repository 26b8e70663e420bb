"""The built client is served as it was built, and nothing beside it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from flask import Flask

from holdwatch.app import create_app
from people import Visitor, at_the_door

FILES = {
    "index.html": "<!doctype html><title>Holdwatch</title>",
    "sw.js": "self",
    "theme.js": "theme",
    "base.css": "css",
    "manifest.webmanifest": "{}",
    "icon.svg": "<svg/>",
    "assets/main-3fa9.js": "main",
    "assets/main-3fa9.css": "main",
}


@pytest.fixture
def browser(settings, engine, clock, tmp_path: Path) -> Visitor:
    folder = tmp_path / "dist"
    for name, text in FILES.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text)
    (tmp_path / "secret.txt").write_text("secret")
    (tmp_path / "dist-secret.txt").write_text("secret")
    (folder / ".env").write_text("secret")
    (folder / "assets" / "source.py").write_text("secret")
    return at_the_door(create_app(replace(settings, client_folder=folder), engine, clock.now), None)


@pytest.mark.parametrize("path", ["/", "/look", "/brood/018f", "/household", "/join", "/apish"])
def test_every_address_of_a_screen_is_the_one_page(browser: Visitor, path):
    answer = browser.get(path)
    assert (answer.status_code, answer.text) == (200, FILES["index.html"])
    assert answer.headers["Cache-Control"] == "no-cache"
    assert answer.headers["Content-Type"] == "text/html; charset=utf-8"


@pytest.mark.parametrize(
    ("name", "kind", "kept"),
    [
        ("sw.js", "text/javascript; charset=utf-8", "no-cache"),
        ("theme.js", "text/javascript; charset=utf-8", "no-cache"),
        ("base.css", "text/css; charset=utf-8", "no-cache"),
        ("manifest.webmanifest", "application/manifest+json", "no-cache"),
        ("icon.svg", "image/svg+xml; charset=utf-8", "no-cache"),
        ("assets/main-3fa9.js", "text/javascript; charset=utf-8", "public, max-age=31536000, immutable"),
        ("assets/main-3fa9.css", "text/css; charset=utf-8", "public, max-age=31536000, immutable"),
    ],
)
def test_files_have_their_type_and_their_time(browser: Visitor, name, kind, kept):
    answer = browser.get(f"/{name}")
    assert (answer.status_code, answer.text) == (200, FILES[name])
    assert (answer.headers["Content-Type"], answer.headers["Cache-Control"]) == (kind, kept)


def test_a_file_that_has_not_changed_is_not_sent_again(browser: Visitor):
    tag = browser.get("/sw.js").headers["ETag"]
    again = browser.get("/sw.js", headers={"If-None-Match": tag})
    assert (again.status_code, again.data) == (304, b"")


@pytest.mark.parametrize(
    "path",
    [
        "/../secret.txt",
        "/assets/../../secret.txt",
        "/%2e%2e/secret.txt",
        "/..%2fsecret.txt",
        "/assets/..%5c..%5csecret.txt",
        "//secret.txt",
        "/./../dist-secret.txt",
        "/.env",
        "/assets/source.py",
        "/assets/%00.js",
        "/assets",
        "/assets/",
        "/assets/gone.js",
        "/nothing.js",
        "/C:/secret.txt",
    ],
)
def test_nothing_else_can_be_had(browser: Visitor, path):
    answer = browser.get(path)
    assert answer.status_code in (404, 308, 200)
    assert "secret" not in answer.get_data(as_text=True) or answer.status_code == 308
    if answer.status_code == 200:
        assert answer.text == FILES["index.html"]


@pytest.mark.parametrize("path", ["/api/v1/nothing", "/api", "/api/", "/api/v2/me"])
def test_an_address_of_the_api_is_never_a_page(browser: Visitor, path):
    answer = browser.get(path)
    assert (answer.status_code, answer.json["error"]["code"]) == (404, "not_found")


@pytest.mark.parametrize("method", ["POST", "PUT", "PATCH", "DELETE"])
def test_pages_are_only_read(browser: Visitor, method):
    assert browser.ask(method, "/look").status_code == 405


def test_without_a_built_client_the_page_says_what_to_do(app: Flask):
    browser = at_the_door(app, None)
    answer = browser.get("/look")
    assert answer.status_code == 200
    assert "deploy/run.py" in answer.text
    assert "style" not in answer.text and "<script" not in answer.text
    assert browser.get("/sw.js").status_code == 404
