"""What the fields of a record were before: every value they had, who wrote it, and what replaced it."""

from __future__ import annotations

from typing import Any

from flask import request
from flask.views import MethodView
from marshmallow import Schema, fields, validate

from ..services import history
from ..store.database import reading
from .bodies import Blueprint
from .house import house
from .security import who_asks

blueprint = Blueprint("history", __name__, description="What was replaced or overruled, and by whom")
FURTHEST = 10_000_000


class PlaceSchema(Schema):
    """Where a page begins: what an answer named as its `next`."""

    first = fields.Integer(load_default=0, validate=validate.Range(0, FURTHEST))


class WritingSchema(Schema):
    """A value that a field has or had."""

    value = fields.Raw(required=True, allow_none=True)
    stamp = fields.String(required=True)
    was = fields.String(required=True, allow_none=True, metadata={"description": "the stamp that it replaced"})
    at = fields.AwareDateTime(required=True, format="iso")
    by = fields.String(required=True, allow_none=True, metadata={"description": "the person's id"})
    name = fields.String(
        required=True, allow_none=True, metadata={"description": "the person's name, also after they were removed"}
    )
    phone = fields.String(required=True, allow_none=True)


class EarlierSchema(WritingSchema):
    """A value that another one replaced; `apart` where that one did not know of it."""

    replaced_by = fields.Nested(WritingSchema, required=True)
    apart = fields.Boolean(required=True)


class FieldHistorySchema(Schema):
    """A field: what stands, and what stood there before, the latest first."""

    name = fields.String(required=True)
    stands = fields.Nested(WritingSchema, required=True)
    earlier = fields.List(fields.Nested(EarlierSchema), required=True)


class RecordHistorySchema(Schema):
    """A record's fields; `concurrent` are those that were written apart and nobody has settled."""

    id = fields.String(required=True)
    kind = fields.String(required=True)
    author = fields.String(required=True)
    concurrent = fields.List(fields.String(), required=True)
    fields_ = fields.List(fields.Nested(FieldHistorySchema), data_key="fields", attribute="fields", required=True)


class HistorySchema(Schema):
    """One page, and where the next one begins; null at the end."""

    records = fields.List(fields.Nested(RecordHistorySchema), required=True)
    next = fields.Integer(required=True, allow_none=True)


@blueprint.route("/records/<uuid:record_id>/history")
class OfRecord(MethodView):
    @blueprint.arguments(PlaceSchema, location="query")
    @blueprint.response(200, HistorySchema)
    def get(self, place: dict[str, Any], record_id: Any) -> history.History:
        """All the values that the fields of a record have and had."""
        with reading(house().engine) as db:
            who = who_asks(db, request)
            return history.record_history(db, who.household_id, str(record_id), place["first"])


@blueprint.route("/broods/<uuid:brood_id>/history")
class OfBrood(MethodView):
    @blueprint.arguments(PlaceSchema, location="query")
    @blueprint.response(200, HistorySchema)
    def get(self, place: dict[str, Any], brood_id: Any) -> history.History:
        """What was replaced in a brood and in everything about it."""
        with reading(house().engine) as db:
            who = who_asks(db, request)
            return history.brood_history(db, who.household_id, str(brood_id), place["first"])
