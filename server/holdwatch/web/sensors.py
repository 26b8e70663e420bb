"""`POST /api/v1/readings`: where sensors write; each holds a token of one tank, and no cookie is looked at."""

from __future__ import annotations

from typing import Any, get_args

from flask import request
from flask.views import MethodView
from marshmallow import Schema, fields, validate
from werkzeug.exceptions import RequestEntityTooLarge, UnprocessableEntity

from ..records.names import NAME_LENGTH
from ..services import temperature
from ..services.temperature.ingest import Word
from ..services.temperature.values import COLDEST_C, WARMEST_C
from ..store.database import reading, writing
from .bodies import Blueprint, plain_body, read_json
from .house import house
from .lines import NAME_PATTERN

READINGS_LIMIT_BYTES = 64 * 1024
SCHEME = "Bearer "
OPENAPI_SCHEME = {"type": "http", "scheme": "bearer"}

READING = {
    "type": "object",
    "required": ["at", "temperature_c"],
    "properties": {
        "at": {"type": "string", "format": "date-time", "description": "with its offset; at most 48 h ago"},
        "temperature_c": {"type": "number", "minimum": COLDEST_C, "maximum": WARMEST_C},
        "sensor": {
            "type": "string",
            "minLength": 1,
            "maxLength": NAME_LENGTH,
            "pattern": NAME_PATTERN,
            "description": "which of its thermometers, where it has several",
        },
    },
}
ONE_OR_MANY = {"oneOf": [READING, {"type": "array", "items": READING}]}
BODY = {"required": True, "content": {"application/json": {"schema": ONE_OR_MANY}}}

blueprint = Blueprint("sensors", __name__, description="Where sensors write")


class ReadingVerdictSchema(Schema):
    """What became of one reading."""

    verdict = fields.String(required=True, validate=validate.OneOf(get_args(Word)))
    reason = fields.String(required=True, allow_none=True)


class ReadingVerdictsSchema(Schema):
    """A verdict for each reading, in their order."""

    verdicts = fields.List(fields.Nested(ReadingVerdictSchema), required=True)


@blueprint.route("/readings")
class Readings(MethodView):
    @blueprint.response(200, ReadingVerdictsSchema)
    @blueprint.doc(security=[{"sensor": []}], requestBody=BODY)
    def post(self) -> dict[str, Any]:
        """Take one reading or a list of them, a verdict for each."""
        here = house()
        with reading(here.engine) as db:
            sensor = temperature.sensor_of(db, _bearer_token())
        sent = _readings()
        with writing(here.engine) as db:
            verdicts = temperature.take_readings(db, sensor, sent, here.now())
        return {"verdicts": verdicts}


def _bearer_token() -> str:
    """RFC 6750, 2.1; the name of the scheme is written in any case (RFC 9110, 11.1)."""
    given = request.headers.get("Authorization", "")
    return given[len(SCHEME) :].strip() if given[: len(SCHEME)].lower() == SCHEME.lower() else ""


def _readings() -> list[Any]:
    body = plain_body(request)
    if len(body) > READINGS_LIMIT_BYTES:
        raise RequestEntityTooLarge
    sent = read_json(body)
    if isinstance(sent, dict):
        return [sent]
    if not isinstance(sent, list):
        raise UnprocessableEntity
    return sent
