"""`POST /api/v1/sync`: one round trip in which a phone and the server agree."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from flask import request
from flask.views import MethodView
from marshmallow import EXCLUDE, Schema, fields, validate

from ..records.instants import instant_text
from ..records.kinds import KINDS, SCHEMA_NUMBER
from ..services.identity import is_earlier
from ..services.sync import Agreement, Push, Verdict, agree
from ..store.database import reading, writing
from ..store.migrate import Identity
from .bodies import Blueprint
from .house import house
from .security import who_asks

CHANGES_LIMIT = 500
TAKEN = {"verdict": "taken"}
BRIEF_SCHEMA = 3
"""From it on clients know by the order which change a verdict is of."""

blueprint = Blueprint("sync", __name__, description="Agreeing on what was written down")


class FieldSchema(Schema):
    """A field as it is sent: its value, the stamp of its writing, the stamp that it replaced."""

    value = fields.Raw(required=True, allow_none=True)
    stamp = fields.String(required=True)
    was = fields.String(allow_none=True)


class ChangeSchema(Schema):
    """A record's identity and the fields that were written: `fields`, or from schema 2 on `values` of one stamp."""

    id = fields.String(required=True)
    kind = fields.String(required=True)
    author = fields.String(required=True)
    device = fields.String(required=True)
    seen = fields.Integer(
        allow_none=True, metadata={"description": "the record's revision that its writer had before him"}
    )
    values_ = fields.Dict(
        keys=fields.String(), values=fields.Raw(allow_none=True), data_key="values", attribute="values"
    )
    stamp = fields.String(metadata={"description": "of all `values`"})
    was = fields.Dict(
        keys=fields.String(), values=fields.String(), metadata={"description": "the stamps that `values` replaced"}
    )
    held = fields.Boolean(metadata={"description": "brought back: the server had taken it before it was set back"})
    fields_ = fields.Dict(
        keys=fields.String(), values=fields.Nested(FieldSchema), data_key="fields", attribute="fields"
    )


class AsItIs(fields.Nested):
    """Documented as what it should be, passed on as what it is.

    Coming in, one bad change must not hold up the others. Going out, it was checked when it came in, and to check
    each of some thousand fields again would take longer than all else together.
    """

    def deserialize(self, value, attr=None, data=None, **kwargs):
        """The value, even where it is null."""
        return value

    def _serialize(self, *value_and_place, **kwargs):
        return value_and_place[0]


class ListAsItIs(fields.List):
    """A list whose items are looked at later, each by itself."""

    def _deserialize(self, value, attr, data, **kwargs):
        if not isinstance(value, list):
            raise self.make_error("invalid")
        return value


class PushSchema(Schema):
    """What a device sends."""

    class Meta:
        unknown = EXCLUDE

    schema = fields.Integer(required=True, strict=True, validate=validate.Range(min=1))
    device = fields.String(required=True, validate=validate.Regexp(r"[0-9a-z]{8}\Z"))
    cursor = fields.Integer(required=True, strict=True, validate=validate.Range(min=0, max=2**62))
    epoch = fields.String(load_default=None, allow_none=True, validate=validate.Length(max=60))
    changes = ListAsItIs(AsItIs(ChangeSchema), required=True, validate=validate.Length(max=CHANGES_LIMIT))


class VerdictSchema(Schema):
    """What became of one change; `fields` are the names that were not taken.

    Of one that was taken clients of schema 3 and newer are told no more: verdicts stand in the order of the changes.
    """

    id = fields.String(allow_none=True)
    verdict = fields.String(required=True, validate=validate.OneOf(["taken", "later", "clock", "refused"]))
    reason = fields.String(allow_none=True)
    fields_ = fields.List(fields.String(), data_key="fields", attribute="fields")


class StampedSchema(Schema):
    """A field as it comes down."""

    value = fields.Raw(required=True, allow_none=True)
    stamp = fields.String(required=True)


class RowSchema(Schema):
    """A record as the server holds it: `fields` for clients of schema 1, `values` and their stamps for newer ones."""

    id = fields.String(required=True)
    kind = fields.String(required=True)
    author = fields.String(required=True)
    device = fields.String(required=True)
    revision = fields.Integer(required=True)
    fields_ = fields.Dict(
        keys=fields.String(), values=fields.Nested(StampedSchema), data_key="fields", attribute="fields"
    )
    values_ = fields.Dict(
        keys=fields.String(), values=fields.Raw(allow_none=True), data_key="values", attribute="values"
    )
    stamp = fields.String(metadata={"description": "of all `values` that `stamps` does not name"})
    stamps = fields.Dict(keys=fields.String(), values=fields.String(), metadata={"description": "of the other values"})
    concurrent = fields.List(fields.String(), metadata={"description": "left out by `values` where there are none"})
    brought_by = fields.String(metadata={"description": "who brought it back after a restore, if not its author"})


class DerivedSchema(Schema):
    """What the server worked out."""

    kind = fields.String(required=True)
    about = fields.String(required=True, allow_none=True)
    revision = fields.Integer(required=True)
    body = fields.Dict(required=True)


class AnswerSchema(Schema):
    """The verdicts in the order of the changes, and the page above the cursor.

    Clients of schema 2 and newer are not told what is empty, false or known to them already, but for the page: nearly
    always there is nothing new, and a phone asks each minute.
    """

    now = fields.String(required=True, metadata={"format": "date-time"})
    database = fields.String(metadata={"description": "left out where the phone has agreed with this epoch before"})
    epoch = fields.String(required=True)
    schema = fields.Integer(required=True)
    verdicts = AsItIs(VerdictSchema, many=True, metadata={"description": "left out where there are none"})
    rows = AsItIs(RowSchema, many=True, required=True)
    derived = AsItIs(DerivedSchema, many=True, metadata={"description": "left out where there is none"})
    cursor = fields.Integer(required=True)
    more = fields.Boolean(required=True)
    upto = fields.Integer(metadata={"description": "what the cursor will come to, where more is waiting"})
    recomputing = fields.Boolean(metadata={"description": "left out where it is not so"})


@blueprint.route("/sync")
class Sync(MethodView):
    @blueprint.arguments(PushSchema)
    @blueprint.response(200, AnswerSchema)
    def post(self, sent: dict[str, Any]):
        """Take the changes, one verdict each, and answer with what is new."""
        here = house()
        now = here.now()
        brings_back = is_earlier(here.identity, sent["epoch"])
        push = Push(sent["changes"], sent["cursor"], sent["schema"], brings_back)
        with reading(here.engine) as db:
            who = who_asks(db, request)
            # Of the very moment at which it was known that he may see it: who is removed sees no page more.
            agreement = None if push.changes else agree(db, who, push, now)
        if agreement is None:
            with writing(here.engine) as db:
                agreement = agree(db, who, push, now)
        if agreement.recomputing:
            here.nudge()
        verdicts = [_verdict(one, is_brief=sent["schema"] >= BRIEF_SCHEMA) for one in agreement.verdicts]
        whole = _whole(here.identity, agreement, verdicts, now)
        return _lean(whole, sent) if push.reads_lean else whole


def _verdict(one: Verdict, is_brief: bool) -> dict[str, Any]:
    return TAKEN if is_brief and one.verdict == "taken" else one._asdict()


def _whole(identity: Identity, agreement: Agreement, verdicts: list[dict[str, Any]], now: datetime) -> dict[str, Any]:
    page = agreement.page
    upto = {"upto": page.upto} if page.more else {}
    return upto | {
        "now": instant_text(now),
        "database": identity.database_id,
        "epoch": identity.epoch,
        "schema": SCHEMA_NUMBER,
        "verdicts": verdicts,
        "rows": page.rows,
        "derived": page.derived,
        "cursor": page.cursor,
        "more": page.more,
        "recomputing": agreement.recomputing,
    }


def _lean(whole: dict[str, Any], asked: dict[str, Any]) -> dict[str, Any]:
    empty = {name for name in ("verdicts", "derived", "recomputing") if not whole[name]}
    known = {"database"} if asked["cursor"] and asked["epoch"] in (None, whole["epoch"]) else set()
    return {name: part for name, part in whole.items() if name not in empty | known}


def describe_kinds(spec: Any) -> None:
    """Add every kind's fields to the OpenAPI document, where the client takes its types from."""
    for kind, schema in KINDS.items():
        spec.components.schema(kind.capitalize(), schema=schema)
