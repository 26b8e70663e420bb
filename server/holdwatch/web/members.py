"""The people of a household and their phones: inviting, signing a phone out, removing a person."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from flask import request
from flask.views import MethodView
from marshmallow import Schema, fields, validate

from ..records.instants import from_milliseconds
from ..services import access
from ..store.database import reading, writing
from .bodies import Blueprint
from .house import house
from .lines import name
from .security import who_asks

blueprint = Blueprint("members", __name__, description="People and their phones")


class InvitationSchema(Schema):
    """An invitation that can still be used."""

    id = fields.UUID(required=True)
    name = fields.String(required=True)
    role = fields.String(required=True, validate=validate.OneOf(access.INVITED_ROLES))
    expires_at = fields.AwareDateTime(required=True, format="iso")


class NewInvitationSchema(Schema):
    """Whom to invite, and as what."""

    name = name()
    role = fields.String(required=True, validate=validate.OneOf(access.INVITED_ROLES))
    person = fields.UUID(
        load_default=None, allow_none=True, metadata={"description": "who left and is to come back as the same person"}
    )


class InvitationLinkSchema(Schema):
    """A new invitation; its link is told this once, the secret being in the fragment."""

    id = fields.UUID(required=True)
    link_path = fields.String(required=True)
    expires_at = fields.AwareDateTime(required=True, format="iso")


class DeviceSchema(Schema):
    """A phone that is signed in; `this` is the one that asks."""

    id = fields.UUID(required=True)
    person = fields.UUID(required=True)
    name = fields.String(required=True)
    label = fields.String(required=True)
    device = fields.String(required=True)
    created_at = fields.AwareDateTime(required=True, format="iso")
    seen_at = fields.AwareDateTime(required=True, format="iso")
    this = fields.Boolean(required=True)


@blueprint.route("/invitations")
class Invitations(MethodView):
    @blueprint.response(200, InvitationSchema(many=True))
    def get(self) -> list[dict[str, Any]]:
        """The owner's list of invitations that can still be used."""
        here = house()
        with reading(here.engine) as db:
            rows = access.open_invitations(db, who_asks(db, request), here.now())
        return [_invitation(row) for row in rows]

    @blueprint.arguments(NewInvitationSchema)
    @blueprint.response(201, InvitationLinkSchema)
    def post(self, sent: dict[str, Any]) -> dict[str, Any]:
        """Invite somebody; the link is good for 48 hours and for one person."""
        here, again = house(), sent["person"] and str(sent["person"])
        with writing(here.engine) as db:
            invited = access.invite(db, who_asks(db, request), sent["name"], sent["role"], here.now(), again)
        return {"id": invited.id, "link_path": f"/join#{invited.token}", "expires_at": invited.expires_at}


@blueprint.route("/invitations/<uuid:invitation_id>")
class Invitation(MethodView):
    @blueprint.response(204)
    def delete(self, invitation_id: UUID) -> None:
        """Withdraw an invitation: its link is useless from now on."""
        here = house()
        with writing(here.engine) as db:
            access.withdraw_invitation(db, who_asks(db, request), str(invitation_id), here.now())


@blueprint.route("/devices")
class Devices(MethodView):
    @blueprint.response(200, DeviceSchema(many=True))
    def get(self) -> list[dict[str, Any]]:
        """The phones that are signed in: one's own, for the owner those of the household."""
        with reading(house().engine) as db:
            who = who_asks(db, request)
            rows = access.devices(db, who)
        return [_device(row, who) for row in rows]


@blueprint.route("/devices/<uuid:session_id>")
class Device(MethodView):
    @blueprint.response(204)
    def delete(self, session_id: UUID) -> None:
        """Sign a phone out: one's own, or as the owner anybody's."""
        here = house()
        with writing(here.engine) as db:
            access.revoke_device(db, who_asks(db, request), str(session_id), here.now())


@blueprint.route("/people/<uuid:person_id>")
class Person(MethodView):
    @blueprint.response(204)
    def delete(self, person_id: UUID) -> None:
        """Leave the household, or as the owner remove somebody: signed out everywhere, what they logged stays."""
        here = house()
        with writing(here.engine) as db:
            access.remove_person(db, who_asks(db, request), str(person_id), here.now())
        # What the person had taken on is anybody's again.
        here.nudge()


def _invitation(row: Any) -> dict[str, Any]:
    expires = from_milliseconds(row.expires_at)
    return {"id": row.invitation_id, "name": row.name, "role": row.role, "expires_at": expires}


def _device(row: Any, who: access.Who) -> dict[str, Any]:
    return {
        "id": row.session_id,
        "person": row.person_id,
        "name": row.name,
        "label": row.label,
        "device": row.device,
        "created_at": from_milliseconds(row.created_at),
        "seen_at": from_milliseconds(row.seen_at),
        "this": row.session_id == who.session_id,
    }
