"""What most tests need: a database of their own, a clock that can be moved, and people."""

from __future__ import annotations

import shutil
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest
import sqlalchemy as sa
from flask import Flask

from holdwatch.config import Settings
from holdwatch.services.access import hash_password
from holdwatch.services.identity import new_identity
from holdwatch.store.database import open_database, writing
from holdwatch.store.migrate import migrate
from people import ORIGIN, PASSWORD, Clock, Neighbours, Visitors, settle, visiting

# Started in the background of a shell we ignore Ctrl+C, and would hand that down to servers that are stopped by it.
signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.fixture(scope="session")
def migrated_database(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty SQLite database of the newest shape, migrated once and copied for each test."""
    path = tmp_path_factory.mktemp("database") / "empty.sqlite3"
    engine = open_database(f"sqlite:///{path}")
    migrate(engine, new_identity)
    # The last connection to close folds the write-ahead log into the file.
    engine.dispose()
    return path


@pytest.fixture(scope="session")
def password_hash() -> str:
    """The hash of PASSWORD, worked out once."""
    return hash_password(PASSWORD)


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    """Settings of a server on this machine, with a database file in the test's own folder."""
    url, photos = f"sqlite:///{tmp_path / 'holdwatch.sqlite3'}", tmp_path / "photos"
    return Settings(url, ORIGIN, None, "mailto:operator@example.org", photos_folder=photos)


@pytest.fixture
def engine(settings: Settings, migrated_database: Path, tmp_path: Path) -> Iterator[sa.Engine]:
    """An engine on an empty database in a file of the test's own."""
    shutil.copy(migrated_database, tmp_path / "holdwatch.sqlite3")
    engine = open_database(settings.database_url)
    yield engine
    engine.dispose()


@pytest.fixture
def clock() -> Clock:
    """A clock that stands still until the test moves it."""
    return Clock()


@pytest.fixture
def app(settings: Settings, engine: sa.Engine, clock: Clock) -> Flask:
    """The whole application on the test's database and clock."""
    # Imported here, so that tests of the pure floors do without the web framework.
    from holdwatch.app import create_app

    app = create_app(settings, engine, clock.now)
    app.testing = True
    return app


@pytest.fixture
def neighbours(engine: sa.Engine, clock: Clock, password_hash: str) -> Neighbours:
    """Two households: an owner, a keeper and a helper, and the owner of another one."""
    with writing(engine) as db:
        return settle(db, password_hash, clock.now())


@pytest.fixture
def visitors(app: Flask, neighbours: Neighbours) -> Visitors:
    """The neighbours at the door of `app`, and somebody signed out."""
    return visiting(app, neighbours)


@pytest.fixture(scope="module")
def lasting_engine(migrated_database: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[sa.Engine]:
    """One database for all the tests of a module, where none of them is hurt by what another left."""
    path = tmp_path_factory.mktemp("lasting") / "holdwatch.sqlite3"
    shutil.copy(migrated_database, path)
    engine = open_database(f"sqlite:///{path}")
    yield engine
    engine.dispose()


@pytest.fixture(scope="module")
def lasting_visitors(lasting_engine: sa.Engine, password_hash: str, tmp_path_factory) -> Visitors:
    """The neighbours at the door of an application on that database, whose clock stands still."""
    from holdwatch.app import create_app

    clock = Clock()
    with writing(lasting_engine) as db:
        people = settle(db, password_hash, clock.now())
    settings = Settings(
        "", ORIGIN, None, "mailto:operator@example.org", photos_folder=tmp_path_factory.mktemp("photos")
    )
    app = create_app(settings, lasting_engine, clock.now)
    app.testing = True
    return visiting(app, people)
