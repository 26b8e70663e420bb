"""A database in which thousands of households can live and die quickly, and phones of every version."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
import sqlalchemy as sa

from sync.home import Hand, Home
from sync.neighbours import Nodes, movers


@pytest.fixture
def quick_engine(engine: sa.Engine) -> Iterator[sa.Engine]:
    """The test's database without waiting for the disk: these tests are about merging, not about power cuts."""

    def hurry(connection, _record):
        connection.execute("PRAGMA synchronous=OFF")

    sa.event.listen(engine, "connect", hurry)
    yield engine


@pytest.fixture(scope="module")
def nodes() -> Iterator[Nodes]:
    """The processes of the client's phones of each version."""
    with ExitStack() as stack:
        yield Nodes(stack)


@pytest.fixture
def home(engine: sa.Engine, tmp_path: Path) -> Home:
    """A household with nobody's phone in it yet."""
    return Home(engine, tmp_path / "server.log")


@pytest.fixture
def move_in(home: Home, nodes: Nodes, password_hash: str) -> Callable[..., Hand]:
    """What gives one of the three people a phone of a make and a version."""
    return movers(home, nodes, password_hash)
