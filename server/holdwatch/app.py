"""Puts the parts together: `create_app` is the only place that knows them all."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa
from flask import Flask

from . import __version__
from .config import Settings, load_profiles, photos_folder
from .services.identity import new_identity
from .services.photos import Cabinet, Shelf
from .store.database import open_database
from .store.migrate import migrate
from .web import (
    access,
    bodies,
    calendar,
    client,
    duties,
    duty_links,
    errors,
    forecasts,
    health,
    history,
    logs,
    members,
    passwords,
    photos,
    reminders,
    security,
    sensors,
    sync,
    temperature,
)
from .web.house import House

BODY_LIMIT_BYTES = 1024 * 1024
API_PREFIX = "/api/v1"


def utc_now() -> datetime:
    """The clock of this machine."""
    return datetime.now(UTC)


def create_app(
    settings: Settings,
    engine: sa.Engine | None = None,
    now: Callable[[], datetime] = utc_now,
    nudge: Callable[[], None] = lambda: None,
) -> Flask:
    """The application; tests hand in their own database and clock."""
    engine = engine or open_database(settings.database_url)
    identity = migrate(engine, new_identity)
    app = Flask("holdwatch", static_folder=None)
    app.json = bodies.Writer(app)
    cabinet = photo_cabinet(settings, engine)
    app.extensions["holdwatch"] = House(settings, engine, identity, load_profiles(), now, nudge, cabinet)
    app.config["MAX_CONTENT_LENGTH"] = BODY_LIMIT_BYTES
    _add_api(app)
    app.register_blueprint(client.blueprint)
    duty_links.register(app)
    security.guard(app)
    errors.register(app)
    logs.keep_secrets_out(app)
    return app


def photo_cabinet(settings: Settings, engine: sa.Engine) -> Cabinet:
    """Where photos are kept; BadSetting where no folder is named and the database is no file."""
    beside = engine.url.database if engine.dialect.name == "sqlite" else None
    return Cabinet(engine, Shelf(photos_folder(settings.photos_folder, beside)), settings.photos_limit_bytes)


def openapi_document() -> dict[str, Any]:
    """The API's description in OpenAPI 3.1; it needs no database and no server."""
    return _add_api(Flask("holdwatch", static_folder=None)).spec.to_dict()


def _add_api(app: Flask) -> errors.Api:
    app.config.update(_smorest_config())
    api = errors.Api(app)
    photos.teach_addresses(app, api)
    people, broods = (access, passwords, members, calendar, reminders), (sync, duties, forecasts, history)
    for part in (health, *people, *broods, temperature, sensors, photos):
        api.register_blueprint(part.blueprint, url_prefix=API_PREFIX)
    sync.describe_kinds(api.spec)
    return api


def _smorest_config() -> dict[str, object]:
    return {
        "API_TITLE": "Holdwatch",
        "API_VERSION": __version__,
        "OPENAPI_VERSION": "3.1.0",
        "OPENAPI_URL_PREFIX": API_PREFIX,
        "OPENAPI_JSON_PATH": "openapi.json",
        "API_SPEC_OPTIONS": {
            "security": [{"session": []}],
            "components": {
                "securitySchemes": {"session": security.OPENAPI_SCHEME, "sensor": sensors.OPENAPI_SCHEME},
            },
        },
    }
