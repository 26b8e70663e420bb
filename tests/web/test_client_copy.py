"""The client takes its types from a copy of the description, so that it builds without Python: the copy is right."""

from __future__ import annotations

import json
from pathlib import Path

from holdwatch.app import openapi_document

COPY = Path(__file__).parents[2] / "webclient" / "openapi.json"


def test_the_clients_copy_of_the_description_is_the_servers_own():
    assert json.loads(COPY.read_text("utf-8")) == json.loads(json.dumps(openapi_document())), (
        "the client's copy is old; renew it with `holdwatch openapi > webclient/openapi.json`"
    )
