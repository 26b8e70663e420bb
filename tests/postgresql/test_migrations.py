"""The migrations lead to the same tables on PostgreSQL."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
import sqlalchemy as sa

from store.test_migrations import (  # noqa: F401
    opened,
    test_a_migrated_database_has_the_tables_that_the_program_knows,
    test_a_migration_that_was_cut_off_begins_anew,
    test_servers_that_start_at_once_make_one_database,
    test_what_was_overruled_before_is_kept_when_the_database_changes_its_shape,
)


@pytest.fixture
def empty_address(postgresql: str) -> Iterator[str]:
    """Where no tables stand yet."""
    keeper = sa.create_engine(postgresql.format("postgres"), isolation_level="AUTOCOMMIT")
    with keeper.connect() as db:
        db.exec_driver_sql("CREATE DATABASE to_be_migrated")
        yield postgresql.format("to_be_migrated")
        db.exec_driver_sql("DROP DATABASE to_be_migrated WITH (FORCE)")
    keeper.dispose()
