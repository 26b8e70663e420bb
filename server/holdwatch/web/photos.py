"""Photos: their pieces come in under the hash of the whole, and go out to the household alone."""

from __future__ import annotations

import binascii
from base64 import b64decode
from typing import Any

import flask_smorest
from flask import Flask, Response, request, send_file
from flask.views import MethodView
from marshmallow import Schema, ValidationError, fields, validate
from werkzeug.routing import BaseConverter

from ..records.fields import SHA256
from ..services import photos
from ..services.photos.picture import TYPE
from ..store.database import reading
from .bodies import Blueprint
from .house import house
from .security import who_asks

# What lies under a hash never changes; it is private, for a proxy must not show it to somebody else.
FOREVER = "private, max-age=31536000, immutable"
PIECE_CHARACTERS = -(-photos.PIECE_LIMIT_BYTES // 3) * 4
MOST_BYTES = 10**9
IMAGE = {"type": "string", "format": "binary"}

blueprint = Blueprint("photos", __name__, description="Photos")


class Hash(BaseConverter):
    """A SHA-256 in 64 small hexadecimal digits."""

    regex = SHA256.pattern


def teach_addresses(app: Flask, api: flask_smorest.Api) -> None:
    """Let `app` know addresses with a hash in them, and `api` describe them."""
    app.url_map.converters["sha256"] = Hash
    api.register_converter(Hash, lambda _: {"type": "string", "pattern": f"^{SHA256.pattern}$"})


class Octets(fields.String):
    """A piece of a photo in base64 (RFC 4648, 4); it may be empty."""

    def __init__(self) -> None:
        super().__init__(required=True, metadata={"format": "byte", "maxLength": PIECE_CHARACTERS})

    def _deserialize(self, value, attr, data, **kwargs):
        text = super()._deserialize(value, attr, data, **kwargs)
        try:
            octets = b64decode(text, validate=True)
        except (binascii.Error, ValueError):
            raise ValidationError("This must be base64.") from None
        if len(octets) > photos.PIECE_LIMIT_BYTES:
            raise ValidationError(f"A piece has at most {photos.PIECE_LIMIT_BYTES} bytes.")
        return octets


class PhotoPieceSchema(Schema):
    """A piece of a photo, where it belongs, and how many bytes the whole has."""

    bytes = fields.Integer(required=True, strict=True, validate=validate.Range(1, MOST_BYTES))
    offset = fields.Integer(required=True, strict=True, validate=validate.Range(0, MOST_BYTES))
    piece = Octets()


class PhotoArrivalSchema(Schema):
    """How far a photo has come: it is kept, or the server has so many bytes of it and wants the next piece."""

    kept = fields.Boolean(required=True)
    had = fields.Integer(required=True)


class PhotoRoomSchema(Schema):
    """How much room this household's photos take, may take, and can have now."""

    used_bytes = fields.Integer(required=True)
    limit_bytes = fields.Integer(required=True)
    free_bytes = fields.Integer(required=True)


class PhotoUploadSchema(PhotoArrivalSchema):
    """How far a photo has come, how large a piece and a photo may be, and how much room there is."""

    piece_limit_bytes = fields.Integer(required=True)
    photo_limit_bytes = fields.Integer(required=True)
    room = fields.Nested(PhotoRoomSchema, required=True)


@blueprint.route("/photos/<sha256:sha256>/upload")
class Upload(MethodView):
    @blueprint.response(200, PhotoUploadSchema)
    def get(self, sha256: str) -> dict[str, Any]:
        """How far this photo has come, and how much room there is for photos."""
        here = house()
        with reading(here.engine) as db:
            who = who_asks(db, request)
            arrival = photos.arrival_of(db, here.cabinet, who, sha256)
            room = photos.room_for(db, here.cabinet, who)
        limits = {"piece_limit_bytes": photos.PIECE_LIMIT_BYTES, "photo_limit_bytes": photos.PHOTO_LIMIT_BYTES}
        return {"kept": arrival.kept, "had": arrival.had, "room": room} | limits

    @blueprint.arguments(PhotoPieceSchema)
    @blueprint.response(200, PhotoArrivalSchema)
    def post(self, sent: dict[str, Any], sha256: str) -> photos.Arrival:
        """Take the next piece; after the last one the photo is proven and drawn anew, or refused with a reason."""
        here = house()
        with reading(here.engine) as db:
            who = who_asks(db, request)
        piece = photos.Piece(sha256, sent["bytes"], sent["offset"], sent["piece"])
        return photos.take_piece(here.cabinet, who, piece, here.now())


@blueprint.route("/photos/<sha256:sha256>")
class Photo(MethodView):
    @blueprint.response(200, IMAGE, content_type=TYPE)
    def get(self, sha256: str) -> Response:
        """The photo as it is kept."""
        return _file(sha256, small=False)


@blueprint.route("/photos/<sha256:sha256>/thumbnail")
class Thumbnail(MethodView):
    @blueprint.response(200, IMAGE, content_type=TYPE)
    def get(self, sha256: str) -> Response:
        """The photo, small."""
        return _file(sha256, small=True)


def _file(sha256: str, small: bool) -> Response:
    here = house()
    with reading(here.engine) as db:
        path = photos.file_of(db, here.cabinet.shelf, who_asks(db, request), sha256, small)
    # Without `conditional`: a range of a picture is of no use, and the answer is never asked for again.
    response = send_file(path.absolute(), mimetype=TYPE, etag=False, last_modified=0)
    del response.headers["Last-Modified"]
    response.headers["Cache-Control"] = FOREVER
    return response
