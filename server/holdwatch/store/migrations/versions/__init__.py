"""One step a file; alembic writes their frame."""
