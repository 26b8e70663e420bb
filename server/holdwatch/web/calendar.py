"""A person's calendar: its address is given, renewed and ended by its person, and opens it to whoever has it."""

from __future__ import annotations

from typing import Any

from flask import request
from flask.views import MethodView
from marshmallow import Schema, fields
from werkzeug import Response

from ..channels.calendar import calendar_of
from ..services import duties
from ..store.database import reading, writing
from .bodies import Blueprint
from .errors import error
from .house import house
from .security import who_asks

TYPE = "text/calendar"
# Shared caches and the address bar's next page must not learn of it: the address is the key.
HEADERS = {"Cache-Control": "private, no-store", "Referrer-Policy": "no-referrer"}
# For whoever reads the description; what is written otherwise is answered like any other wrong one.
TOKEN = {"in": "path", "name": "token", "required": True, "schema": {"type": "string", "pattern": "^[0-9A-Za-z_.-]+$"}}

blueprint = Blueprint("calendar", __name__, description="A person's duties as a calendar")


class CalendarWishSchema(Schema):
    """Whether the entries name the male and the tank."""

    names = fields.Boolean(required=True)


class CalendarSchema(CalendarWishSchema):
    """Since when the address holds; null where there is none."""

    since = fields.AwareDateTime(required=True, allow_none=True, format="iso")


class CalendarMadeSchema(CalendarWishSchema):
    """The path of the calendar, told this once."""

    path = fields.String(required=True)


@blueprint.route("/calendar")
class Own(MethodView):
    @blueprint.response(200, CalendarSchema)
    def get(self) -> dict[str, Any]:
        """Whether one has a calendar; its address is not known any more."""
        with reading(house().engine) as db:
            feed = duties.feed_of(db, who_asks(db, request))
        return {"since": feed and feed.since, "names": feed is not None and feed.names}

    @blueprint.arguments(CalendarWishSchema)
    @blueprint.response(201, CalendarMadeSchema)
    def post(self, sent: dict[str, Any]) -> dict[str, Any]:
        """Get a calendar, or a new address for it; the one before opens nothing any more."""
        here = house()
        with writing(here.engine) as db:
            token = duties.new_feed(db, who_asks(db, request), sent["names"], here.now())
        return {"path": f"{request.path}/{token}.ics", "names": sent["names"]}

    @blueprint.response(204)
    def delete(self) -> None:
        """End one's calendar."""
        with writing(house().engine) as db:
            duties.end_feed(db, who_asks(db, request))


@blueprint.route("/calendar/<string:token>.ics", parameters=[TOKEN])
class Feed(MethodView):
    @blueprint.response(200, {"type": "string"}, content_type=TYPE)
    @blueprint.doc(security=[])
    def get(self, token: str) -> Response:
        """The calendar, for whoever has its address; a wrong one is answered like one that never was."""
        here = house()
        with reading(here.engine) as db:
            entries = duties.read_feed(db, token, here.now())
        if entries is None:
            answer: Response = error(404, "not_found", "There is no calendar at this address.")
        else:
            answer = Response(calendar_of(entries, here.settings.origin, here.now()), mimetype=TYPE)
        answer.headers.update(HEADERS)
        return answer
