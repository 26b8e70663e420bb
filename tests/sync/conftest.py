"""A database in which thousands of households can live and die quickly."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
import sqlalchemy as sa


@pytest.fixture
def quick_engine(engine: sa.Engine) -> Iterator[sa.Engine]:
    """The test's database without waiting for the disk: these tests are about merging, not about power cuts."""

    def hurry(connection, _record):
        connection.execute("PRAGMA synchronous=OFF")

    sa.event.listen(engine, "connect", hurry)
    yield engine
