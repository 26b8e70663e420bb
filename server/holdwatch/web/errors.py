"""One table turns what can go wrong into an answer that a person can act on."""

from __future__ import annotations

from flask import Flask, Response, jsonify
from werkzeug.exceptions import HTTPException

from ..services import access

# Domain error -> (status, code). The message is the error's own, written for people.
TABLE: dict[type[Exception], tuple[int, str]] = {
    access.SignedOut: (401, "signed_out"),
    access.WrongLogin: (401, "wrong_login"),
    access.TooManyAttempts: (429, "too_many_attempts"),
    access.NotAllowed: (403, "not_allowed"),
    access.NotFound: (404, "not_found"),
    access.NotUsable: (409, "not_usable"),
}


def register(app: Flask) -> None:
    """Let `app` answer every error in the one shape."""
    for kind, (status, code) in TABLE.items():
        app.register_error_handler(kind, _answerer(status, code))
    app.register_error_handler(HTTPException, _http)


def error(status: int, code: str, message: str, where: object = None) -> Response:
    """The one shape of an error."""
    answer = jsonify(error={"code": code, "message": message, "where": where})
    answer.status_code = status
    return answer


def _answerer(status: int, code: str):
    def answer(problem: Exception) -> Response:
        response = error(status, code, str(problem))
        if isinstance(problem, access.TooManyAttempts):
            response.headers["Retry-After"] = str(problem.wait_seconds)
        return response

    return answer


def _http(problem: HTTPException) -> Response:
    data = getattr(problem, "data", None) or {}
    code = (problem.name or "error").lower().replace(" ", "_")
    response = error(problem.code or 500, code, problem.description or problem.name, data.get("messages"))
    for name, value in data.get("headers") or ():
        response.headers[name] = value
    return response
