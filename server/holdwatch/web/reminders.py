"""How one wants to be reminded, and a reminder to try whether they reach this phone."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from flask import request
from flask.views import MethodView
from marshmallow import Schema, ValidationError, fields, validate, validates_schema

from ..channels.message import Message
from ..channels.push import push_channel
from ..domain.duties.quiet import Wish
from ..records.fields import LOCAL_TIME
from ..records.mail import LONGEST_MAIL, BadMail, check_mail
from ..records.zones import NoZone, check_zone
from ..services.access import NotUsable
from ..services.duties import wishes
from ..store.database import reading, writing
from .bodies import Blueprint
from .house import house
from .security import who_asks

TRY_IS_OF_USE = timedelta(minutes=10)
RESULTS = ("sent", "gone", "refused", "later")

blueprint = Blueprint("reminders", __name__, description="How one wants to be reminded")


def _zone(name: str) -> None:
    try:
        check_zone(name)
    except NoZone as bad:
        raise ValidationError(f"{bad}.") from None


def _mail(text: str) -> None:
    try:
        check_mail(text)
    except BadMail as bad:
        raise ValidationError(f"{bad}.") from None


def _time_of_day(name: str) -> fields.String:
    check = validate.Regexp(rf"(?:{LOCAL_TIME.pattern})\Z", error="This must be a time of day such as 21:30.")
    return fields.String(required=True, data_key=name, validate=check)


class QuietSchema(Schema):
    """Hours of every day, by the clock of the wish's zone; they may lie over midnight."""

    begins = _time_of_day("from")
    ends = _time_of_day("until")

    @validates_schema
    def _not_all_day(self, quiet: dict[str, str], **_: Any) -> None:
        if quiet["begins"] == quiet["ends"]:
            raise ValidationError("Quiet hours must end at another time than they begin.")


class WishSchema(Schema):
    """One's own wishes. Null quiet hours and a null address mean that there are none."""

    quiet = fields.Nested(QuietSchema, required=True, allow_none=True)
    zone = fields.String(required=True, validate=[validate.Length(1, 60), _zone])
    catch_breaks_quiet = fields.Boolean(
        required=True, metadata={"description": "whether what cannot wait, as the night of the catch, is told then too"}
    )
    email = fields.String(required=True, allow_none=True, validate=[validate.Length(1, LONGEST_MAIL), _mail])
    morning = fields.String(
        allow_none=True,
        validate=validate.Regexp(rf"(?:{LOCAL_TIME.pattern})\Z", error="This must be a time of day such as 07:30."),
        metadata={"description": "when one wants a summary of the day, by the clock of `zone`; left out, it stays"},
    )


class RemindersSchema(WishSchema):
    """One's own wishes, and whether this server sends e-mail at all."""

    sends_mail = fields.Boolean(required=True)


class TriedSchema(Schema):
    """What became of a reminder to try: `gone` where the phone must turn reminders on anew."""

    result = fields.String(required=True, validate=validate.OneOf(RESULTS))


@blueprint.route("/reminders")
class Wishes(MethodView):
    @blueprint.response(200, RemindersSchema)
    def get(self) -> dict[str, Any]:
        """How one wants to be reminded."""
        with reading(house().engine) as db:
            return _told(wishes.wish_of(db, who_asks(db, request)))

    @blueprint.arguments(WishSchema)
    @blueprint.response(200, RemindersSchema)
    def put(self, sent: dict[str, Any]) -> dict[str, Any]:
        """Say how one wants to be reminded."""
        here = house()
        with writing(here.engine) as db:
            who = who_asks(db, request)
            # Clients of before know nothing of the summary, and do not mean to end it.
            wish = _wish({"morning": _told(wishes.wish_of(db, who))["morning"], **sent})
            wishes.keep_wish(db, who, wish, here.now())
        return _told(wish)


@blueprint.route("/reminders/test")
class Trial(MethodView):
    @blueprint.response(200, TriedSchema)
    def post(self) -> dict[str, str]:
        """Send a reminder to this phone, to try whether it arrives."""
        here = house()
        with reading(here.engine) as db:
            address = wishes.phone_of(db, who_asks(db, request))
        if address is None:
            raise NotUsable("This device gets no reminders yet. Turn them on first.")
        channel = push_channel(here.settings, here.identity.vapid_private)
        # A push service may take its time, so no transaction is open meanwhile.
        return {"result": channel.send(address, _trial(), here.now()).result}


def _wish(said: Mapping[str, Any]) -> Wish:
    quiet, morning = said["quiet"], said["morning"]
    return Wish(
        quiet_from=quiet and time.fromisoformat(quiet["begins"]),
        quiet_until=quiet and time.fromisoformat(quiet["ends"]),
        zone=ZoneInfo(said["zone"]),
        catch_breaks_quiet=said["catch_breaks_quiet"],
        email=said["email"],
        morning_at=morning and time.fromisoformat(morning),
    )


def _trial() -> Message:
    return Message(
        title="Reminders reach this device",
        body="You asked for this one, to try.",
        path="/household",
        duty="",
        brood="",
        urgent=True,
        until=house().now() + TRY_IS_OF_USE,
        has_buttons=False,
    )


def _told(wish: Wish) -> dict[str, Any]:
    begins, ends = wish.quiet_from, wish.quiet_until
    return {
        "quiet": None if begins is None or ends is None else {"begins": f"{begins:%H:%M}", "ends": f"{ends:%H:%M}"},
        "zone": wish.zone.key,
        "catch_breaks_quiet": wish.catch_breaks_quiet,
        "email": wish.email,
        "morning": wish.morning_at and f"{wish.morning_at:%H:%M}",
        "sends_mail": house().settings.mail is not None,
    }
