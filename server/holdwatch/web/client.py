"""Serves the built client: its pages, its assets, and for every address of a screen the one page."""

from __future__ import annotations

from pathlib import Path

from flask import Blueprint, send_from_directory
from flask.blueprints import BlueprintSetupState
from werkzeug import Response
from werkzeug.exceptions import NotFound
from werkzeug.routing import BaseConverter

from .house import house

ASSETS = "assets/"
FOREVER = "public, max-age=31536000, immutable"
ASK_FIRST = "no-cache"
# Named here because `mimetypes` asks the machine, and with nosniff a wrong type is a blank page.
TYPES = {
    ".css": "text/css",
    ".html": "text/html",
    ".ico": "image/x-icon",
    ".js": "text/javascript",
    ".json": "application/json",
    ".map": "application/json",
    ".png": "image/png",
    ".svg": "image/svg+xml",
    ".txt": "text/plain",
    ".webmanifest": "application/manifest+json",
    ".webp": "image/webp",
    ".woff2": "font/woff2",
}
NOT_BUILT = """<!doctype html>
<html lang="en">
<head><meta charset="utf-8"><meta name="viewport" content="width=device-width"><title>Holdwatch</title></head>
<body>
<h1>The server runs; its pages are not built</h1>
<p>In a copy of the sources, <code>python3 deploy/run.py</code> builds them and starts the server.</p>
<p>By hand: <code>npm ci</code> and <code>npm run build</code> in <code>webclient</code>, then start the server again.
Pages built elsewhere are named by the setting <code>HOLDWATCH_CLIENT</code>.</p>
<p>The programming interface is described at <a href="/api/v1/openapi.json">/api/v1/openapi.json</a>.</p>
</body>
</html>
"""

blueprint = Blueprint("client", __name__)


class ClientPath(BaseConverter):
    """Every path but those of the API, so that a wrong address there is answered as the API answers."""

    part_isolating = False
    regex = r"(?!api(?:/|$)).*?"


@blueprint.record_once
def _teach_the_path(state: BlueprintSetupState) -> None:
    state.app.url_map.converters["client"] = ClientPath


@blueprint.get("/", defaults={"path": ""})
@blueprint.get("/<client:path>")
def page(path: str) -> Response:
    """A file of the client, or the one page for the address of a screen."""
    folder = house().settings.client_folder
    is_file = "." in path or path.startswith(ASSETS)
    if folder is None:
        if is_file:
            raise NotFound
        return Response(NOT_BUILT, mimetype=TYPES[".html"], headers={"Cache-Control": ASK_FIRST})
    return _file(folder.resolve(), path if is_file else "index.html")


def _file(folder: Path, path: str) -> Response:
    kind = TYPES.get(Path(path).suffix)
    if kind is None:
        raise NotFound
    response = send_from_directory(folder, path, mimetype=kind, conditional=True)
    response.headers["Cache-Control"] = FOREVER if path.startswith(ASSETS) else ASK_FIRST
    return response
