"""Passwords are renewed: by whoever knows the present one, or with the address that the machine itself printed."""

from __future__ import annotations

from typing import Any

from flask import request
from flask.views import MethodView
from marshmallow import Schema, fields
from werkzeug import Response

from ..services import access
from ..store.database import reading, writing
from .access import MeSchema, PhoneSchema, TokenSchema, come_in, phone_of
from .bodies import Blueprint
from .house import house
from .lines import line, new_password, password
from .security import client_address, from_loopback, who_asks

blueprint = Blueprint("passwords", __name__, description="Renewing a password")


class ChangePasswordSchema(Schema):
    """The present password, and the one that is to be."""

    current = password()
    password = new_password()


class RecoverySchema(PhoneSchema):
    """The secret of the address that the machine printed, and the password that is to be."""

    token = line(200)
    password = new_password()


class RecoveredSchema(Schema):
    """Whose password is to be set."""

    household = fields.String(required=True)
    name = fields.String(required=True)
    login = fields.String(required=True)


@blueprint.route("/password")
class Password(MethodView):
    @blueprint.arguments(ChangePasswordSchema)
    @blueprint.response(204)
    def post(self, sent: dict[str, Any]) -> None:
        """Change one's own password; one's other phones are signed out."""
        here = house()
        with writing(here.engine) as db:
            who = who_asks(db, request)
            knocked = access.knock_again(db, who, client_address(), here.now())
        access.check_own_password(knocked, sent["current"])
        kept = access.hash_password(sent["password"])
        with writing(here.engine) as db:
            access.change_password(db, who, knocked, kept, here.now())


@blueprint.route("/recovery/look")
class Look(MethodView):
    @blueprint.arguments(TokenSchema)
    @blueprint.response(200, RecoveredSchema)
    @blueprint.doc(security=[])
    def post(self, sent: dict[str, Any]) -> dict[str, Any]:
        """Whose password the address is for; looking does not spend it. POST, as a secret is in no address."""
        here = house()
        with reading(here.engine) as db:
            row = access.recovery_for(db, sent["token"], from_loopback(), here.now())
            household = access.household_name(db, row.household_id)
        return {"household": household, "name": row.name, "login": row.login}


@blueprint.route("/recovery")
class Recovery(MethodView):
    @blueprint.arguments(RecoverySchema)
    @blueprint.response(200, MeSchema)
    @blueprint.doc(security=[])
    def post(self, sent: dict[str, Any]) -> Response:
        """Set a new password and sign in; every other phone of the person is signed out."""
        here, near = house(), from_loopback()
        with reading(here.engine) as db:
            access.recovery_for(db, sent["token"], near, here.now())
        kept = access.hash_password(sent["password"])
        with writing(here.engine) as db:
            opened = access.recover(db, sent["token"], kept, near, phone_of(sent), here.now())
            return come_in(db, opened, 200)
