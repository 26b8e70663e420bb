"""How JSON bodies come in and go out: bounded, strict, and compressed where both sides can."""

from __future__ import annotations

import gzip
import json
import zlib
from typing import Any

import flask_smorest
import orjson
from flask import Request, Response, request
from flask.json.provider import DefaultJSONProvider
from marshmallow import Schema
from webargs import core
from webargs.flaskparser import FlaskParser
from werkzeug.exceptions import BadRequest, RequestEntityTooLarge, UnsupportedMediaType

JSON_LIMIT_BYTES = 512 * 1024
WORTH_COMPRESSING_BYTES = 1024


def read_json(body: bytes) -> Any:
    """The value in a body; BadRequest where it is no JSON of RFC 8259 or nested beyond all sense.

    A whole number beyond 64 bits is read as the nearest one with a point, as every browser reads it.
    """
    try:
        return orjson.loads(body)
    except orjson.JSONDecodeError:
        # Half of a surrogate pair, say, is JSON too; whoever sent it is to be told of that one value.
        return _read_thoroughly(body)


def _read_thoroughly(body: bytes) -> Any:
    try:
        return json.loads(body.decode("utf-8"), parse_constant=_no_number)
    except RecursionError:
        raise BadRequest("The body is nested too deeply.") from None
    except ValueError:
        raise BadRequest("The body is not JSON.") from None


def plain_body(incoming: Request) -> bytes:
    """The body, decompressed; never more than the limit, whatever a few compressed octets claim."""
    encoding = (incoming.content_encoding or "identity").lower()
    body = incoming.get_data(cache=True)
    if encoding == "gzip":
        body = _gunzip(body)
    elif encoding != "identity":
        raise UnsupportedMediaType("The body may be compressed with gzip and nothing else.")
    if len(body) > JSON_LIMIT_BYTES:
        raise RequestEntityTooLarge(f"The body is larger than {JSON_LIMIT_BYTES} bytes.")
    return body


def compress(response: Response) -> Response:
    """Compress a JSON answer for whoever takes gzip."""
    if response.direct_passthrough or response.mimetype != "application/json":
        return response
    if request.method == "GET":
        # Nothing else is kept by a cache (RFC 9110, section 9.3.3), which then needs not know by what it varies.
        response.vary.add("Accept-Encoding")
    body = response.get_data()
    if len(body) < WORTH_COMPRESSING_BYTES or not request.accept_encodings["gzip"]:
        return response
    response.set_data(gzip.compress(body, compresslevel=5, mtime=0))
    response.content_encoding = "gzip"
    return response


class Writer(DefaultJSONProvider):
    """Writes the answers; what only the standard library can write, such as half of a surrogate pair, it writes."""

    def dumps(self, obj: Any, **kwargs: Any) -> str:
        """The text of a value."""
        try:
            return orjson.dumps(obj).decode()
        except orjson.JSONEncodeError:
            return super().dumps(obj, **kwargs)


class StrictParser(FlaskParser):
    """Reads what `blueprint.arguments` asks for, with `read_json` in the place of the lenient one."""

    def load_json(self, req: Request, schema: Schema) -> Any:
        """The request's JSON, or nothing where it has none."""
        if req.mimetype != "application/json":
            return core.missing
        return read_json(plain_body(req))


class Blueprint(flask_smorest.Blueprint):
    """A part of the API."""

    ARGUMENTS_PARSER = StrictParser()


def _gunzip(body: bytes) -> bytes:
    unpacker = zlib.decompressobj(wbits=zlib.MAX_WBITS | 16)
    try:
        plain = unpacker.decompress(body, JSON_LIMIT_BYTES + 1)
    except zlib.error:
        raise BadRequest("The body is broken gzip.") from None
    if len(plain) <= JSON_LIMIT_BYTES and (not unpacker.eof or unpacker.unused_data):
        raise BadRequest("The body is broken gzip.")
    return plain


def _no_number(name: str) -> None:
    raise ValueError(f"{name} is no number in JSON")
