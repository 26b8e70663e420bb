"""Is the server there, and which database does it keep?"""

from __future__ import annotations

from typing import Any

from flask.views import MethodView
from marshmallow import Schema, fields

from .bodies import Blueprint
from .house import house

blueprint = Blueprint("health", __name__, description="Is the server there?")


class HealthSchema(Schema):
    """What anybody may know of the server."""

    ok = fields.Boolean(required=True)
    database = fields.UUID(required=True)
    epoch = fields.UUID(required=True)
    now = fields.AwareDateTime(required=True, format="iso")


@blueprint.route("/health")
class Health(MethodView):
    @blueprint.response(200, HealthSchema)
    @blueprint.doc(security=[])
    def get(self) -> dict[str, Any]:
        """Answer with the database's identity and the server's clock."""
        here = house()
        return {
            "ok": True,
            "database": here.identity.database_id,
            "epoch": here.identity.epoch,
            "now": here.now(),
        }
