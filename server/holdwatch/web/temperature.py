"""Temperature: a tank's thermometers, the tokens of its sensors, and files of readings that are imported."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from flask import request
from flask.views import MethodView
from marshmallow import Schema, fields

from ..records.instants import from_milliseconds
from ..services import access, temperature
from ..store.database import reading, writing
from .bodies import Blueprint
from .house import house
from .imports import (
    ImportedSchema,
    ImportSchema,
    PreviewSchema,
    UnderstoodSchema,
    import_of,
    imported_answer,
    understood_answer,
)
from .lines import name
from .security import who_asks

blueprint = Blueprint("temperature", __name__, description="Temperature of the tanks")


class ThermometerSchema(Schema):
    """A thermometer of the tank, how many readings it has, and what it said last."""

    name = fields.String(required=True)
    readings = fields.Integer(required=True)
    first_at = fields.AwareDateTime(required=True, format="iso")
    last_at = fields.AwareDateTime(required=True, format="iso")
    last_c = fields.Float(required=True)


class ThermometersSchema(Schema):
    """The thermometers of a tank, and how large a file and a piece of it may be."""

    thermometers = fields.List(fields.Nested(ThermometerSchema), required=True)
    file_limit_bytes = fields.Integer(required=True)
    piece_limit_bytes = fields.Integer(required=True)


class NewTokenSchema(Schema):
    """What the sensor's thermometer is to be called where its readings do not say."""

    name = name()


class TokenMadeSchema(Schema):
    """A new token; its text is told this once."""

    id = fields.UUID(required=True)
    token = fields.String(required=True)


class ReadingTokenSchema(Schema):
    """A token that a sensor may use, and when it last did."""

    id = fields.UUID(required=True)
    name = fields.String(required=True)
    created_at = fields.AwareDateTime(required=True, format="iso")
    used_at = fields.AwareDateTime(required=True, allow_none=True, format="iso")


@blueprint.route("/tanks/<uuid:tank_id>/thermometers")
class Thermometers(MethodView):
    @blueprint.response(200, ThermometersSchema)
    def get(self, tank_id: UUID) -> dict[str, Any]:
        """The tank's thermometers, with what each said last."""
        with reading(house().engine) as db:
            rows = temperature.thermometers_of(db, who_asks(db, request), str(tank_id))
        return {
            "thermometers": [_thermometer(row) for row in rows],
            "file_limit_bytes": temperature.FILE_LIMIT_BYTES,
            "piece_limit_bytes": temperature.PIECE_LIMIT_BYTES,
        }


@blueprint.route("/tanks/<uuid:tank_id>/tokens")
class Tokens(MethodView):
    @blueprint.response(200, ReadingTokenSchema(many=True))
    def get(self, tank_id: UUID) -> list[dict[str, Any]]:
        """The tokens of the tank's sensors; only the owner and keepers may ask."""
        with reading(house().engine) as db:
            rows = temperature.tokens_of(db, who_asks(db, request), str(tank_id))
        return [_token(row) for row in rows]

    @blueprint.arguments(NewTokenSchema)
    @blueprint.response(201, TokenMadeSchema)
    def post(self, sent: dict[str, Any], tank_id: UUID) -> dict[str, Any]:
        """Let a sensor write readings of this tank; its token is told this once."""
        here = house()
        with writing(here.engine) as db:
            made = temperature.make_token(db, who_asks(db, request), str(tank_id), sent["name"].strip(), here.now())
        return {"id": made.own_id, "token": str(made)}


@blueprint.route("/tokens/<uuid:token_id>")
class Token(MethodView):
    @blueprint.response(204)
    def delete(self, token_id: UUID) -> None:
        """Revoke a sensor's token: it may write no more, what it wrote stays."""
        here = house()
        with writing(here.engine) as db:
            temperature.revoke_token(db, who_asks(db, request), str(token_id), here.now())


@blueprint.route("/tanks/<uuid:tank_id>/readings/preview")
class Preview(MethodView):
    @blueprint.arguments(PreviewSchema)
    @blueprint.response(200, UnderstoodSchema)
    def post(self, sent: dict[str, Any], tank_id: UUID) -> dict[str, Any]:
        """What is understood of a file by its first piece; nothing is kept."""
        here = house()
        zone = _zone_of(tank_id)
        understood = temperature.understand(sent["piece"], sent["is_last"], temperature.Choices(**sent["chosen"]))
        return understood_answer(understood, temperature.preview_rows(understood, zone, here.now()))


@blueprint.route("/tanks/<uuid:tank_id>/readings/import")
class Import(MethodView):
    @blueprint.arguments(ImportSchema)
    @blueprint.response(200, ImportedSchema)
    def post(self, sent: dict[str, Any], tank_id: UUID) -> dict[str, Any]:
        """Take the readings of the next piece of a file, and say where the one after it begins."""
        here, now = house(), house().now()
        zone = _zone_of(tank_id)
        form, spot = import_of(sent)
        # Reading takes its time, so no transaction is open meanwhile.
        found, after = temperature.parse_piece(sent["piece"], form, spot, sent["is_last"], zone, now)
        with writing(here.engine) as db:
            who = who_asks(db, request)
            aim = temperature.aim_at(db, who, str(tank_id), sent["thermometer"].strip())
            imported = temperature.keep_piece(db, aim, found, after, sent["is_last"], now)
        here.nudge()
        return imported_answer(imported)


def _zone_of(tank_id: UUID) -> str:
    """The zone of a tank that the one who asks may import for."""
    with reading(house().engine) as db:
        who = who_asks(db, request)
        temperature.require_keeper(who)
        zone = temperature.tank_of(db, who.household_id, str(tank_id)).value("zone")
    if zone is None:
        raise access.NotUsable("This tank has no time zone yet. Give it one, so that the times can be read.")
    return zone


def _thermometer(row: Any) -> dict[str, Any]:
    return {
        "name": row.name,
        "readings": row.readings,
        "first_at": from_milliseconds(row.first_at),
        "last_at": from_milliseconds(row.last_at),
        "last_c": row.last_millidegrees / 1000,
    }


def _token(row: Any) -> dict[str, Any]:
    return {
        "id": row.token_id,
        "name": row.name,
        "created_at": from_milliseconds(row.created_at),
        "used_at": None if row.used_at is None else from_milliseconds(row.used_at),
    }
