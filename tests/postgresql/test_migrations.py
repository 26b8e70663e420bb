"""The migrations lead to the same tables on PostgreSQL."""

from store.test_migrations import test_a_migrated_database_has_the_tables_that_the_program_knows  # noqa: F401
