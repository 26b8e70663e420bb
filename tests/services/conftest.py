"""What the tests of the services share."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
import sqlalchemy as sa

from holdwatch.config import Settings
from holdwatch.services.backup import back_up
from holdwatch.store.database import open_database
from people import START, Clock, Neighbours
from services.notebook import Notebook
from services.rearing import Nursery
from services.reminding import subscribe


@pytest.fixture
def notebook(engine: sa.Engine, neighbours: Neighbours) -> Notebook:
    """The owner's records."""
    return Notebook(engine, neighbours.owner.who)


@pytest.fixture
def copy(engine: sa.Engine, settings: Settings, neighbours: Neighbours, tmp_path: Path) -> Path:
    """A copy of the neighbours' database."""
    file = tmp_path / "tuesday.sqlite3"
    back_up(settings.database_url, file)
    return file


@pytest.fixture
def afterwards(settings: Settings) -> Iterator[sa.Engine]:
    """An engine on the database, opened when it is first used: when the one before is closed."""
    engine = open_database(settings.database_url)
    yield engine
    engine.dispose()


@pytest.fixture
def home(neighbours: Neighbours) -> str:
    """The household under test."""
    return neighbours.owner.who.household_id


@pytest.fixture
def phones(engine: sa.Engine, neighbours: Neighbours) -> None:
    """Everybody in both households has a phone that gets reminders."""
    for name, opened in vars(neighbours).items():
        subscribe(engine, opened, name, START)


@pytest.fixture
def young(engine: sa.Engine, notebook: Notebook, clock: Clock) -> Nursery:
    """A batch of the owner's."""
    return Nursery(engine, notebook, clock)
