"""Photos over HTTP: pieces in, pictures out to members alone, and every refusal in words."""

from __future__ import annotations

from base64 import b64encode
from dataclasses import replace
from io import BytesIO
from typing import Any

import pytest
import sqlalchemy as sa
from flask import Flask
from PIL import Image

from holdwatch.app import create_app
from holdwatch.config import Settings
from holdwatch.services.photos import PHOTO_LIMIT_BYTES, PIECE_LIMIT_BYTES
from holdwatch.store.database import reading
from holdwatch.store.tables import photo, photo_upload
from people import Clock, Neighbours, Visitor, Visitors, visiting
from pictures import MARK, name_of, png_of, telling
from pictures import photo as a_photo

PHOTO = a_photo(1600, 1200)
AT = f"/api/v1/photos/{name_of(PHOTO)}"


def piece(data: bytes, offset: int = 0, end: int | None = None) -> dict[str, Any]:
    """The body that sends a part of a photo."""
    return {"bytes": len(data), "offset": offset, "piece": b64encode(data[offset:end]).decode()}


def post(visitor: Visitor, data: bytes, offset: int = 0, end: int | None = None) -> Any:
    return visitor.post(f"/api/v1/photos/{name_of(data)}/upload", piece(data, offset, end))


def rows(engine: sa.Engine) -> int:
    with reading(engine) as db:
        return sum(db.scalar(sa.select(sa.func.count()).select_from(table)) or 0 for table in (photo, photo_upload))


def refused(answer: Any, status: int, code: str) -> str:
    """The words of a refusal."""
    assert (answer.status_code, answer.json["error"]["code"]) == (status, code), answer.text[:300]
    return answer.json["error"]["message"]


def test_a_photo_goes_up_in_pieces_and_comes_down_for_the_household(visitors: Visitors):
    state = visitors.helper.get(f"{AT}/upload").json
    assert (state["kept"], state["had"], state["piece_limit_bytes"]) == (False, 0, PIECE_LIMIT_BYTES)
    assert state["photo_limit_bytes"] == PHOTO_LIMIT_BYTES and state["room"]["used_bytes"] == 0
    assert 0 < state["room"]["free_bytes"] <= state["room"]["limit_bytes"] == 5_000_000_000
    assert post(visitors.helper, PHOTO, 0, 20_000).json == {"kept": False, "had": 20_000}
    assert visitors.helper.get(f"{AT}/upload").json["room"]["used_bytes"] == len(PHOTO)
    refused(visitors.owner.get(AT), 404, "not_found")
    assert post(visitors.helper, PHOTO, 20_000).json == {"kept": True, "had": 0}
    for visitor in (visitors.owner, visitors.keeper, visitors.helper):
        full, small = visitor.get(AT), visitor.get(f"{AT}/thumbnail")
        assert Image.open(BytesIO(full.data)).size == (1600, 1200)
        assert Image.open(BytesIO(small.data)).size == (320, 240)
    assert post(visitors.owner, PHOTO).json == {"kept": True, "had": 0}


@pytest.mark.parametrize("path", [AT, f"{AT}/thumbnail"])
def test_a_picture_is_private_lasting_and_nothing_but_a_picture(visitors: Visitors, path):
    post(visitors.owner, PHOTO)
    headers = visitors.owner.get(path).headers
    assert headers["Content-Type"] == "image/jpeg"
    assert headers["Cache-Control"] == "private, max-age=31536000, immutable"
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Content-Security-Policy"] == "default-src 'none'"
    assert headers["Cross-Origin-Resource-Policy"] == "same-origin"
    assert "Last-Modified" not in headers and "ETag" not in headers
    assert visitors.owner.get(f"{AT}/upload").headers["Cache-Control"] == "no-store"


@pytest.mark.parametrize("path", [AT, f"{AT}/thumbnail"])
def test_a_stranger_and_somebody_signed_out_see_no_picture(visitors: Visitors, path):
    post(visitors.owner, PHOTO)
    refused(visitors.stranger.get(path), 404, "not_found")
    refused(visitors.signed_out.get(path), 401, "signed_out")
    assert visitors.stranger.get(f"{AT}/upload").json["kept"] is False


def test_where_it_was_taken_does_not_come_down(visitors: Visitors):
    told = telling("JPEG")
    post(visitors.owner, told)
    assert MARK in told and MARK not in visitors.owner.get(f"/api/v1/photos/{name_of(told)}").data


def test_a_wrong_offset_is_answered_with_the_right_one(visitors: Visitors):
    post(visitors.owner, PHOTO, 0, 1000)
    answer = post(visitors.owner, PHOTO, 2000, 3000)
    assert refused(answer, 409, "wrong_offset") == "The server has 1000 bytes of this photo; go on from there."
    assert answer.json["error"]["where"] == {"offset": ["1000"]}


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"no picture at all", "This is no picture"),
        (PHOTO[:-5000], "cut short"),
        (PHOTO + b"<script>alert(1)</script>", "More than a picture"),
        (png_of(2**31 - 1, 2**31 - 1), "million pixels"),
    ],
    ids=["no picture", "cut short", "a polyglot", "a bomb"],
)
def test_a_hostile_picture_is_refused_with_a_reason_and_holds_up_nothing(visitors: Visitors, engine, data, words):
    assert words in refused(post(visitors.owner, data), 422, "photo_refused")
    assert rows(engine) == 0
    assert post(visitors.owner, PHOTO).json["kept"]


def test_bytes_that_are_not_the_named_ones_are_refused(visitors: Visitors, engine):
    answer = visitors.owner.post(f"/api/v1/photos/{'0' * 64}/upload", piece(PHOTO))
    assert "not the photo that was announced" in refused(answer, 422, "photo_refused")
    assert rows(engine) == 0


def test_too_many_bytes_are_refused(visitors: Visitors, engine):
    answer = visitors.owner.post(f"{AT}/upload", piece(PHOTO) | {"bytes": PHOTO_LIMIT_BYTES + 1})
    assert "8 MB at most" in refused(answer, 413, "photo_too_large")
    assert rows(engine) == 0


def test_a_full_household_is_told_so(settings: Settings, engine, clock: Clock, neighbours: Neighbours):
    app = create_app(replace(settings, photos_limit_bytes=len(PHOTO) + 100), engine, clock.now)
    visitors = visiting(app, neighbours)
    assert post(visitors.owner, PHOTO).json["kept"]
    other = a_photo(1500, 1500)
    assert "wait on this device" in refused(post(visitors.owner, other), 507, "no_room")
    state = visitors.owner.get(f"/api/v1/photos/{name_of(other)}/upload").json
    assert state["room"]["free_bytes"] < len(other)
    assert post(visitors.stranger, PHOTO).json["kept"]


@pytest.mark.parametrize(
    "name", ["0" * 63, "0" * 65, "A" * 64, "g" * 64, "%2e%2e%2f" * 8, "..", "x" * 5000, "%00" * 64]
)
@pytest.mark.parametrize("rest", ["", "/thumbnail", "/upload"])
def test_a_name_that_is_no_hash_is_not_found(visitors: Visitors, name, rest):
    refused(visitors.owner.get(f"/api/v1/photos/{name}{rest}"), 404, "not_found")


BODIES: dict[str, Any] = {
    "no piece": {"bytes": 10, "offset": 0},
    "no base64": {"bytes": 10, "offset": 0, "piece": "*"},
    "half of base64": {"bytes": 10, "offset": 0, "piece": "AAA"},
    "a piece too large": {"bytes": 10**6, "offset": 0, "piece": b64encode(b"x" * (PIECE_LIMIT_BYTES + 1)).decode()},
    "a number for a piece": {"bytes": 10, "offset": 0, "piece": 7},
    "nothing promised": {"bytes": 0, "offset": 0, "piece": ""},
    "less than nothing": {"bytes": 10, "offset": -1, "piece": "AAAA"},
    "half a byte": {"bytes": 10, "offset": 0.5, "piece": "AAAA"},
    "a truth": {"bytes": True, "offset": 0, "piece": "AAAA"},
    "a text": {"bytes": "10", "offset": 0, "piece": "AAAA"},
    "a huge number": {"bytes": 10**400, "offset": 0, "piece": "AAAA"},
    "an unknown field": {"bytes": 10, "offset": 0, "piece": "AAAA", "household": "another"},
    "a list": [],
}


@pytest.mark.parametrize("body", BODIES)
def test_a_body_of_the_wrong_form_is_refused(visitors: Visitors, engine, body):
    answer = visitors.owner.post(f"{AT}/upload", BODIES[body])
    assert answer.status_code == 422 and set(answer.json["error"]) == {"code", "message", "where"}
    assert len(answer.data) < 4000
    assert rows(engine) == 0


def test_bytes_that_are_no_json_are_refused(visitors: Visitors, engine):
    for kind in ("image/jpeg", "application/octet-stream", "multipart/form-data"):
        answer = visitors.owner.post(f"{AT}/upload", data=PHOTO, content_type=kind)
        refused(answer, 415, "not_json")
    assert rows(engine) == 0


def test_another_sites_page_can_send_no_photo(visitors: Visitors, engine):
    answer = visitors.owner.post(f"{AT}/upload", piece(PHOTO), headers={"Sec-Fetch-Site": "cross-site"})
    refused(answer, 403, "cross_site")
    assert rows(engine) == 0


def test_a_folder_that_cannot_be_written_is_told_of(app: Flask, settings: Settings, visitors: Visitors):
    assert settings.photos_folder is not None
    settings.photos_folder.write_text("a file in the way")
    assert "cannot write to its folder of photos" in refused(post(visitors.owner, PHOTO), 503, "cannot_keep")
