"""Coming in and going out: setting up, signing in, joining by invitation, signing out."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from flask import jsonify, request
from flask.views import MethodView
from marshmallow import Schema, fields, validate
from werkzeug import Response

from ..records.instants import from_milliseconds
from ..services import access
from ..store.database import reading, writing
from .bodies import Blueprint
from .house import house
from .lines import line, login, name, new_password, password
from .phones import label_of
from .security import client_address, from_loopback, let_in, let_out, who_asks

blueprint = Blueprint("access", __name__, description="Coming in and going out")


class PersonSchema(Schema):
    """A person as the rest of the household knows them."""

    id = fields.UUID(required=True)
    name = fields.String(required=True)
    role = fields.String(required=True, validate=validate.OneOf(["owner", "keeper", "helper"]))


class HouseholdSchema(Schema):
    """A household's name."""

    id = fields.UUID(required=True)
    name = fields.String(required=True)


class MeSchema(Schema):
    """Who is signed in, and what this phone needs to know of the server."""

    person = fields.Nested(PersonSchema, required=True)
    household = fields.Nested(HouseholdSchema, required=True)
    epoch = fields.UUID(required=True)
    push_key = fields.String(required=True)


class PhoneSchema(Schema):
    """What a phone may say of itself: the name that it writes into stamps, if it has one already."""

    device = fields.String(load_default=None, allow_none=True, validate=validate.Regexp(r"[0-9a-z]{8}\Z"))


class SignInSchema(PhoneSchema):
    """A login and its password."""

    login = line(200)
    password = password()


class NewLoginSchema(PhoneSchema):
    """A login and a password that are to be."""

    login = login()
    password = new_password()


class SetupSchema(NewLoginSchema):
    """A household that is to be, its owner, and the code that allows it."""

    code = line(100)
    household = name()
    name = name()


class TokenSchema(Schema):
    """The secret of an invitation's link."""

    token = line(200)


class JoinSchema(NewLoginSchema):
    """The secret of an invitation's link, and the login that is to be."""

    token = line(200)


class InvitedSchema(Schema):
    """What an invitation says to the one who is invited."""

    household = fields.String(required=True)
    name = fields.String(required=True)
    role = fields.String(required=True, validate=validate.OneOf(access.INVITED_ROLES))
    expires_at = fields.AwareDateTime(required=True, format="iso")


@blueprint.route("/me")
class Me(MethodView):
    @blueprint.response(200, MeSchema)
    def get(self) -> dict[str, Any]:
        """Who is signed in on this phone."""
        with reading(house().engine) as db:
            return me_of(db, who_asks(db, request))


@blueprint.route("/setup")
class Setup(MethodView):
    @blueprint.arguments(SetupSchema)
    @blueprint.response(201, MeSchema)
    @blueprint.doc(security=[])
    def post(self, sent: dict[str, Any]) -> Response:
        """Found a household with the one-time code that the server printed."""
        here, code, near = house(), sent["code"], from_loopback()
        with reading(here.engine) as db:
            access.check_setup_code(db, code, near, here.now())
        kept = access.hash_password(sent["password"])
        founding = access.Founding(sent["household"], sent["name"], sent["login"], kept)
        with writing(here.engine) as db:
            opened = access.found_household(db, code, founding, near, phone_of(sent), here.now())
            return come_in(db, opened, 201)


@blueprint.route("/sign-in")
class SignIn(MethodView):
    @blueprint.arguments(SignInSchema)
    @blueprint.response(200, MeSchema)
    @blueprint.doc(security=[])
    def post(self, sent: dict[str, Any]) -> Response:
        """Sign a person in on this phone, beside those whom the header names as being there."""
        here = house()
        with writing(here.engine) as db:
            knocked = access.knock(db, sent["login"], client_address(), here.now())
        access.check_password(knocked, sent["password"])
        with writing(here.engine) as db:
            opened = access.sign_in(db, knocked, phone_of(sent), here.now())
            return come_in(db, opened, 200)


@blueprint.route("/sign-out")
class SignOut(MethodView):
    @blueprint.response(204)
    def post(self) -> Response:
        """Sign who asks out on this phone; what it has not sent yet stays on it, and so do the others."""
        here = house()
        with writing(here.engine) as db:
            who = who_asks(db, request)
            access.close_session(db, who.household_id, who.session_id, here.now())
        return let_out(Response(status=204))


@blueprint.route("/invitations/look")
class Look(MethodView):
    @blueprint.arguments(TokenSchema)
    @blueprint.response(200, InvitedSchema)
    @blueprint.doc(security=[])
    def post(self, sent: dict[str, Any]) -> dict[str, Any]:
        """What the invitation says; looking does not spend it. POST, as a secret is in no address."""
        here = house()
        with reading(here.engine) as db:
            row = access.invitation_for(db, sent["token"], here.now())
            household = access.household_name(db, row.household_id)
        expires = from_milliseconds(row.expires_at)
        return {"household": household, "name": row.name, "role": row.role, "expires_at": expires}


@blueprint.route("/join")
class Join(MethodView):
    @blueprint.arguments(JoinSchema)
    @blueprint.response(201, MeSchema)
    @blueprint.doc(security=[])
    def post(self, sent: dict[str, Any]) -> Response:
        """Join the household that the invitation is for; this spends it."""
        here = house()
        with reading(here.engine) as db:
            access.invitation_for(db, sent["token"], here.now())
        kept = access.hash_password(sent["password"])
        with writing(here.engine) as db:
            opened = access.join(db, sent["token"], sent["login"], kept, phone_of(sent), here.now())
            return come_in(db, opened, 201)


def me_of(db: sa.Connection, who: access.Who) -> dict[str, Any]:
    """Who is signed in, and what the phone needs to know of the server."""
    identity = house().identity
    return {**access.myself(db, who), "epoch": identity.epoch, "push_key": identity.vapid_public}


def phone_of(sent: dict[str, Any]) -> access.Phone:
    """What a phone that comes in says of itself."""
    return access.Phone(sent["device"], label_of(request.user_agent.string))


def come_in(db: sa.Connection, opened: access.Opened, status: int) -> Response:
    """The answer to whoever has come in, with the session's cookie; said before the transaction is committed."""
    response = jsonify(MeSchema().dump(me_of(db, opened.who)))
    response.status_code = status
    return let_in(db, opened, response)
