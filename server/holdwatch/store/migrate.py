"""Brings a database to the newest shape, and gives a new one its identity."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from importlib import resources
from typing import Any

import sqlalchemy as sa
from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from alembic.util.exc import CommandError

from .database import CannotOpen, writing
from .tables import server_identity
from .upsert import inserting


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
    """Upgrade to the newest revision; make the identity once. CannotOpen where the database does not let us."""
    where = engine.url.render_as_string(hide_password=True)
    try:
        _upgrade(engine)
        return _identity(engine, new_identity)
    except CommandError as problem:
        raise CannotOpen(
            f"The database {where} was made by another version of Holdwatch, newer than this one: {problem}. "
            "Update Holdwatch, or name another database in HOLDWATCH_DATABASE."
        ) from problem
    except sa.exc.DBAPIError as problem:
        raise CannotOpen(f"The database {where} cannot be used: {_in_one_line(problem)}.") from problem


def is_known(revision: str) -> bool:
    """Whether this program knows that shape of a database; a newer one has shapes that it does not know."""
    return revision in {one.revision for one in ScriptDirectory.from_config(alembic_config()).walk_revisions()}


def shape(db: sa.Connection) -> str:
    """Which shape a database has."""
    return db.exec_driver_sql("SELECT version_num FROM alembic_version").scalar_one()


def _upgrade(engine: sa.Engine) -> None:
    config = alembic_config()
    with engine.connect() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "head")
        connection.commit()


def _in_one_line(problem: sa.exc.DBAPIError) -> str:
    said = " ".join(str(problem.orig).split())
    return f"{said}; another program may be holding it" if "locked" in said else said


def _identity(engine: sa.Engine, new_identity: Callable[[], Identity]) -> Identity:
    with writing(engine) as db:
        row: Any = db.execute(sa.select(server_identity)).one_or_none()
        if row is None:
            # Another server may start at the same moment: the identity is that of whichever was first.
            made = inserting(db, server_identity).values(one=1, **new_identity().__dict__)
            db.execute(made.on_conflict_do_nothing())
            row = db.execute(sa.select(server_identity)).one()
        return Identity(row.database_id, row.epoch, row.vapid_private, row.vapid_public, row.earlier_epochs)
