"""What a keeper may ask about a forecast beyond what comes down with it: how it developed, and what it rests on."""

from __future__ import annotations

from typing import Any

from flask import request
from flask.views import MethodView
from marshmallow import Schema, fields

from ..services import forecasts
from ..store.database import reading
from .bodies import Blueprint
from .house import house
from .security import who_asks

blueprint = Blueprint("forecasts", __name__, description="How a forecast developed, and what it rests on")


class LevelsSchema(Schema):
    """Three quantiles of a step, as instants with the offset of the tank's zone."""

    q10 = fields.String(required=True)
    q50 = fields.String(required=True)
    q90 = fields.String(required=True)


class CatchSchema(Schema):
    """A night to catch, and the share of the clutch that it saves."""

    night = fields.String(required=True)
    at = fields.String(required=True)
    saved = fields.Float(required=True)


class GlanceSchema(Schema):
    """One forecast as it was issued; `now` are its six chances then."""

    issued_at = fields.String(required=True)
    now = fields.Dict(keys=fields.String(), values=fields.Float(), required=True)
    catch = fields.Nested(CatchSchema, required=True, allow_none=True)
    hatched = fields.Nested(LevelsSchema, required=True)
    released = fields.Nested(LevelsSchema, required=True)


class DevelopmentSchema(Schema):
    """The forecasts of a brood, the oldest first."""

    forecasts = fields.List(fields.Nested(GlanceSchema), required=True)


class DependenceSchema(Schema):
    """An assumption of the species' profile, its range, and the night to catch at either end."""

    name = fields.String(required=True)
    value = fields.Float(required=True)
    unit = fields.String(required=True)
    source = fields.String(required=True)
    low = fields.Float(required=True)
    high = fields.Float(required=True)
    night_at_low = fields.String(required=True, allow_none=True)
    night_at_high = fields.String(required=True, allow_none=True)


class AssumptionsSchema(Schema):
    """The night as it is, and every assumption that could make it another."""

    night = fields.String(required=True, allow_none=True)
    depends_on = fields.List(fields.Nested(DependenceSchema), required=True)


@blueprint.route("/broods/<uuid:brood_id>/forecasts")
class Development(MethodView):
    @blueprint.response(200, DevelopmentSchema)
    def get(self, brood_id: Any) -> dict[str, Any]:
        """How the forecast of a brood developed."""
        with reading(house().engine) as db:
            who = who_asks(db, request)
            return {"forecasts": forecasts.developed(db, who.household_id, str(brood_id))}


@blueprint.route("/broods/<uuid:brood_id>/assumptions")
class Assumptions(MethodView):
    @blueprint.response(200, AssumptionsSchema)
    def get(self, brood_id: Any) -> dict[str, Any]:
        """On which assumptions the night depends; takes a second or two."""
        here = house()
        with reading(here.engine) as db:
            who = who_asks(db, request)
            asked = forecasts.question(db, who.household_id, str(brood_id), here.profiles, here.now())
        night = asked.night.isoformat() if asked.night else None
        return {"night": night, "depends_on": forecasts.depends_on(asked)}
