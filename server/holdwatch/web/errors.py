"""One table turns what can go wrong into an answer that a person can act on."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator
from typing import Any

import flask_smorest
from flask import Flask, jsonify
from marshmallow import Schema, fields
from sqlalchemy.exc import OperationalError
from werkzeug import Response
from werkzeug.exceptions import HTTPException

from ..channels import endpoints, push
from ..services import access, forecasts, history, photos, temperature
from ..store.database import is_passing

TRY_AGAIN_SECONDS = 5

log = logging.getLogger(__name__)

# Domain error -> (status, code). The message is the error's own, written for people.
TABLE: dict[type[Exception], tuple[int, str]] = {
    access.SignedOut: (401, "signed_out"),
    access.NoLongerMember: (401, "no_longer_member"),
    access.WrongLogin: (401, "wrong_login"),
    access.WrongPassword: (403, "wrong_password"),
    access.TooManyAttempts: (429, "too_many_attempts"),
    access.NotAllowed: (403, "not_allowed"),
    access.NotFound: (404, "not_found"),
    access.NotUsable: (409, "not_usable"),
    forecasts.NotFound: (404, "not_found"),
    history.NotFound: (404, "not_found"),
    temperature.UnknownToken: (401, "unknown_token"),
    photos.PhotoRefused: (422, "photo_refused"),
    photos.PhotoTooLarge: (413, "photo_too_large"),
    photos.WrongOffset: (409, "wrong_offset"),
    photos.NoRoom: (507, "no_room"),
    photos.CannotKeep: (503, "cannot_keep"),
    endpoints.EndpointRefused: (400, "endpoint_refused"),
    endpoints.EndpointUnknown: (400, "endpoint_unknown"),
    push.BadKeys: (422, "bad_keys"),
}

# Status -> (code, message) for what goes wrong before a service is called.
BEFORE: dict[int, tuple[str, str | None]] = {
    400: ("bad_request", None),
    403: ("not_allowed", None),
    404: ("not_found", "There is nothing at this address."),
    405: ("wrong_method", "This address does not know that method."),
    413: ("too_large", "This is more than the server takes at once."),
    415: ("not_json", None),
    422: ("invalid", "Some of what was sent cannot be used."),
    500: ("our_fault", "The server made a mistake, which is written to its log. Try again later."),
}


class WhatWentWrong(Schema):
    """A code for programs, a message for people, and the fields it is about."""

    code = fields.String(required=True)
    message = fields.String(required=True)
    where = fields.Dict(keys=fields.String(), values=fields.List(fields.String()), required=True, allow_none=True)


class ErrorSchema(Schema):
    """The one shape of an error."""

    error = fields.Nested(WhatWentWrong, required=True)


class Api(flask_smorest.Api):
    """The API, with every error in the one shape."""

    ERROR_SCHEMA = ErrorSchema

    def handle_http_exception(self, error: HTTPException) -> Response:
        """Answer what the framework found wrong."""
        return _http(error)


def register(app: Flask) -> None:
    """Let `app` answer the errors of the table, and a database that cannot be used just now."""
    app.register_error_handler(OperationalError, _database_away)
    for kind, (status, code) in TABLE.items():
        app.register_error_handler(kind, _answerer(status, code))


def error(status: int, code: str, message: str, where: object = None) -> Response:
    """The answer to an error."""
    answer = jsonify(described(code, message, where))
    answer.status_code = status
    return answer


def before(status: int, name: str) -> tuple[str, str | None]:
    """The code and the message of what goes wrong before a service is called; `name` is HTTP's own for the status."""
    return BEFORE.get(status, (name.lower().replace(" ", "_"), None))


def described(code: str, message: str, where: object = None) -> dict[str, object]:
    """The one shape of an error."""
    return {"error": {"code": code, "message": message, "where": where}}


def _answerer(status: int, code: str) -> Callable[[Exception], Response]:
    def answer(problem: Exception) -> Response:
        response = error(status, code, str(problem), getattr(problem, "where", None))
        if isinstance(problem, access.TooManyAttempts):
            response.headers["Retry-After"] = str(problem.wait_seconds)
        if isinstance(problem, temperature.UnknownToken):
            response.headers["WWW-Authenticate"] = "Bearer"
        return response

    return answer


def _database_away(problem: OperationalError) -> Response:
    if not is_passing(problem):
        raise problem
    log.warning("the database cannot be used just now: %s", problem.orig)
    response = error(503, "busy", "The server cannot use its database just now. Nothing is lost; try again later.")
    response.headers["Retry-After"] = str(TRY_AGAIN_SECONDS)
    return response


def _http(problem: HTTPException) -> Response:
    if problem.code is None or problem.code < 400:
        return problem.get_response()
    code, message = before(problem.code, problem.name)
    where = dict(_where(getattr(problem, "data", {}).get("messages")))
    response = error(problem.code, code, _message(problem, message, where), where or None)
    for name, value in problem.get_headers():
        # Such as Allow of a 405; the body and so its type are our own.
        if name.lower() != "content-type":
            response.headers[name] = value
    return response


def _message(problem: HTTPException, message: str | None, where: dict[str, list[str]]) -> str:
    said = message or problem.description or problem.name
    if not where:
        return said
    return said + " " + " ".join(f"{name}: {' '.join(texts)}" for name, texts in where.items())


def _where(messages: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[str, list[str]]]:
    """Flatten {"json": {"keys": {"auth": [text]}}} to ("keys.auth", [text]); the location goes."""
    if isinstance(messages, dict):
        for name, below in messages.items():
            yield from _where(below, (*path, str(name)[:60]))
    elif isinstance(messages, list):
        yield ".".join(path[1:]) or "_schema", [str(text) for text in messages]
