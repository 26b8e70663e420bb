"""What the tests of the services share."""

from __future__ import annotations

import pytest
import sqlalchemy as sa

from people import Neighbours
from services.notebook import Notebook


@pytest.fixture
def notebook(engine: sa.Engine, neighbours: Neighbours) -> Notebook:
    """The owner's records."""
    return Notebook(engine, neighbours.owner.who)
