"""The fixtures of the other tests, on PostgreSQL: one database, emptied before each test."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import count

import pytest
import sqlalchemy as sa

from holdwatch.config import Settings
from holdwatch.services.identity import new_identity
from holdwatch.store.database import open_database
from holdwatch.store.migrate import migrate
from holdwatch.store.tables import metadata, server_identity
from postgresql.cluster import Missing, running

EMPTY = ", ".join(table.name for table in metadata.sorted_tables if table is not server_identity)


@pytest.fixture(scope="session")
def postgresql() -> Iterator[str]:
    """The address of a server of the tests' own."""
    try:
        with running() as address:
            yield address
    except Missing as missing:
        pytest.fail(str(missing), pytrace=False)


@pytest.fixture(scope="session")
def new_database(postgresql: str) -> Iterator[Callable[[], str]]:
    """Makes a database of the newest shape; its address."""
    numbers = count()
    keeper = sa.create_engine(postgresql.format("postgres"), isolation_level="AUTOCOMMIT")

    def make() -> str:
        name = f"test_{next(numbers)}"
        with keeper.connect() as db:
            db.exec_driver_sql(f"CREATE DATABASE {name}")
        first = open_database(postgresql.format(name))
        migrate(first, new_identity)
        first.dispose()
        return postgresql.format(name)

    yield make
    keeper.dispose()


@pytest.fixture(scope="session")
def database(new_database: Callable[[], str]) -> str:
    """The address of the database that the tests have in turn."""
    return new_database()


@pytest.fixture
def settings(settings: Settings, database: str) -> Settings:
    """Settings of a server on this machine, with that database."""
    return replace(settings, database_url=database)


@pytest.fixture
def engine(settings: Settings) -> Iterator[sa.Engine]:
    """An engine on that database, emptied but for its identity."""
    engine = open_database(settings.database_url)
    with engine.begin() as db:
        # Whoever of an earlier test still held it would be found out here.
        db.exec_driver_sql("SET LOCAL lock_timeout = '5s'")
        db.exec_driver_sql(f"TRUNCATE {EMPTY}")
    yield engine
    engine.dispose()


@pytest.fixture(scope="module")
def lasting_engine(new_database: Callable[[], str]) -> Iterator[sa.Engine]:
    """One database for all the tests of a module."""
    engine = open_database(new_database())
    yield engine
    engine.dispose()
