"""The migrations lead to the very tables that the program speaks to."""

from __future__ import annotations

import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from holdwatch.store.tables import metadata


def test_a_migrated_database_has_the_tables_that_the_program_knows(engine: sa.Engine):
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, metadata) == []
