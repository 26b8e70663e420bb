"""Brings a database to the newest shape, and gives a new one its identity."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from importlib import resources
from typing import Any

import sqlalchemy as sa
from alembic import command
from alembic.config import Config

from .database import writing
from .tables import server_identity


@dataclass(frozen=True)
class Identity:
    """Which database this is, and its keys for Web Push."""

    database_id: str
    epoch: str
    vapid_private: str
    vapid_public: str
    earlier_epochs: str = ""
    """Epochs before a restore, with blanks between: only who names one of these brings back others' records."""


def alembic_config() -> Config:
    """The configuration of alembic; it has no file of its own."""
    config = Config()
    config.set_main_option("script_location", str(resources.files(__package__) / "migrations"))
    return config


def migrate(engine: sa.Engine, new_identity: Callable[[], Identity]) -> Identity:
    """Upgrade to the newest revision; make the identity once."""
    config = alembic_config()
    with engine.connect() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "head")
        connection.commit()
    return _identity(engine, new_identity)


def _identity(engine: sa.Engine, new_identity: Callable[[], Identity]) -> Identity:
    with writing(engine) as db:
        row: Any = db.execute(sa.select(server_identity)).one_or_none()
        if row is not None:
            return Identity(row.database_id, row.epoch, row.vapid_private, row.vapid_public, row.earlier_epochs)
        made = new_identity()
        db.execute(sa.insert(server_identity).values(one=1, **made.__dict__))
        return made
