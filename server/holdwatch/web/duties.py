"""Reminders on this phone: its push subscription comes in, is checked, and can be ended."""

from __future__ import annotations

from typing import Any

from flask import request
from flask.views import MethodView
from marshmallow import EXCLUDE, Schema, fields

from ..channels.endpoints import LONGEST_ENDPOINT, EndpointRules, checked_addresses
from ..channels.push import check_keys
from ..services import access, duties
from ..store.database import reading, writing
from .bodies import Blueprint
from .house import house
from .lines import line
from .security import who_asks

blueprint = Blueprint("duties", __name__, description="Reminders on this phone")


class KeysSchema(Schema):
    """The phone's public key and its secret (RFC 8291, 3.1 and 3.2), base64url."""

    class Meta:
        unknown = EXCLUDE

    p256dh = line(200)
    auth = line(100)


class SubscriptionSchema(Schema):
    """A push subscription as the browser writes it; what else it says of it is not needed."""

    class Meta:
        unknown = EXCLUDE

    endpoint = line(LONGEST_ENDPOINT)
    keys = fields.Nested(KeysSchema, required=True)


class EndpointSchema(Schema):
    """Which subscription to end."""

    endpoint = line(LONGEST_ENDPOINT)


@blueprint.route("/push/subscriptions")
class Subscriptions(MethodView):
    @blueprint.arguments(SubscriptionSchema)
    @blueprint.response(201)
    def post(self, sent: dict[str, Any]) -> None:
        """Let this phone get reminders; sending the same again is harmless."""
        here = house()
        with reading(here.engine) as db:
            who = who_asks(db, request)
        subscription = duties.Subscription(sent["endpoint"], **sent["keys"])
        check_keys(subscription.p256dh, subscription.auth)
        # Looking a name up may take its time, so no transaction is open meanwhile.
        checked_addresses(subscription.endpoint, EndpointRules(loopback=here.settings.push_loopback))
        with writing(here.engine) as db:
            duties.subscribe(db, access.still_here(db, who), subscription, here.now())
        here.nudge()

    @blueprint.arguments(EndpointSchema)
    @blueprint.response(204)
    def delete(self, sent: dict[str, Any]) -> None:
        """No reminders to this phone any more; only its own subscription can be ended."""
        with writing(house().engine) as db:
            duties.unsubscribe(db, who_asks(db, request), sent["endpoint"])
