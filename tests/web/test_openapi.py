"""The description of the API is complete, and the server does what it says, whatever is sent."""

from __future__ import annotations

import re
from collections import Counter
from typing import Any

import pytest
import schemathesis
import sqlalchemy as sa
from flask import Flask
from hypothesis import HealthCheck, Phase, given, seed, settings
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from holdwatch.app import openapi_document
from holdwatch.store.database import writing
from measured import measured_tank
from people import Clock, Visitors

CHECKS = (
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
)
DOCUMENT = openapi_document()
OPERATIONS = [
    (path, method) for path, methods in DOCUMENT["paths"].items() for method in methods if method != "parameters"
]
# Where there is a body or a parameter, it is also sent wrong.
KINDS_OF_CASES = [(*one, GenerationMode.POSITIVE) for one in OPERATIONS] + [
    (path, method, GenerationMode.NEGATIVE)
    for path, method in OPERATIONS
    if "requestBody" in DOCUMENT["paths"][path][method] or "{" in path
]
PUBLIC = {"/health", "/setup", "/sign-in", "/join", "/invitations/look", "/recovery", "/recovery/look"} | {
    # Whoever has a calendar's address may read it.
    "/calendar/{token}.ics"
}
SEED = 20261125
BOUNDED = settings(
    max_examples=12,
    deadline=None,
    database=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)


def operation(path: str, method: str) -> dict[str, Any]:
    return DOCUMENT["paths"][path][method]


def test_the_document_is_served_as_it_is_made_without_a_server(visitors: Visitors):
    assert visitors.signed_out.get("/api/v1/openapi.json").json == DOCUMENT
    assert DOCUMENT["openapi"] == "3.1.0"


def test_every_route_of_the_api_is_described(app: Flask):
    rules = {rule.rule for rule in app.url_map.iter_rules() if rule.rule.startswith("/api/v1/")}
    plain = {re.sub(r"<(uuid|sha256|string):(\w+)>", r"{\2}", rule) for rule in rules}
    assert set(DOCUMENT["paths"]) == plain - {"/api/v1/openapi.json"}


@pytest.mark.parametrize(("path", "method"), OPERATIONS)
def test_every_operation_says_what_it_does_and_how_it_fails(path, method):
    described = operation(path, method)
    assert described["summary"].endswith(".")
    assert described["responses"]["default"] == {"$ref": "#/components/responses/DEFAULT_ERROR"}
    succeeds = [status for status in described["responses"] if status.startswith("2")]
    assert len(succeeds) == 1


def test_what_is_public_is_said_to_be(app: Flask):
    assert DOCUMENT["security"] == [{"session": []}]
    public = {
        path.removeprefix("/api/v1") for path, method in OPERATIONS if operation(path, method).get("security") == []
    }
    assert public == PUBLIC


def test_errors_are_described_in_the_one_shape():
    for name in ("DEFAULT_ERROR", "UNPROCESSABLE_ENTITY"):
        schema = DOCUMENT["components"]["responses"][name]["content"]["application/json"]["schema"]
        assert schema == {"$ref": "#/components/schemas/Error"}
    assert DOCUMENT["components"]["schemas"]["Error"]["required"] == ["error"]


@pytest.mark.parametrize(("path", "method", "mode"), KINDS_OF_CASES)
def test_whatever_is_sent_is_answered_as_described(
    app: Flask, visitors: Visitors, engine: sa.Engine, clock: Clock, path, method, mode
):
    app.testing = False
    with writing(engine) as db:
        token = measured_tank(db, visitors.owner.who, clock.now())
    described = schemathesis.openapi.from_wsgi("/api/v1/openapi.json", app)[path][method.upper()]
    statuses = Counter[int]()

    def answers_as_described(case: schemathesis.Case) -> None:
        case.cookies = {"holdwatch": visitors.owner.opened.cookie_value}
        by_token = {"Authorization": f"Bearer {token}"}
        # Its client keeps cookies for localhost, which the server takes for its own name as well.
        response = case.call(headers={"Sec-Fetch-Site": "same-origin", "Accept-Encoding": "identity"} | by_token)
        statuses[response.status_code] += 1
        case.validate_response(response, checks=list(CHECKS))

    seed(SEED)(BOUNDED(given(case=described.as_strategy(generation_mode=mode))(answers_as_described)))()
    print(f"seed {SEED}: {dict(statuses)}")
    # The owner's cookie must have reached the view, or nothing was tried at all.
    assert set(statuses) != {401} or path.endswith("/sign-in")
