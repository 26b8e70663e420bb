"""Runs the migrations on the connection handed in by `migrate`."""

from alembic import context

from holdwatch.store.tables import metadata

connection = context.config.attributes["connection"]
sqlite = connection.dialect.name == "sqlite"
# Any number that nothing else on that PostgreSQL is likely to take.
LOCK = 7_405_163_982
# Batch mode rebuilds tables; with foreign keys on, dropping a parent would delete its children.
if sqlite:
    connection.exec_driver_sql("PRAGMA foreign_keys=OFF")
    connection.commit()
    # All of it or nothing, and of two servers that start at once one after the other; the driver begins nothing itself.
    connection.exec_driver_sql("BEGIN IMMEDIATE")
else:
    connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({LOCK})")
context.configure(connection=connection, target_metadata=metadata, render_as_batch=True)
with context.begin_transaction():
    context.run_migrations()
if sqlite:
    broken = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
    if broken:
        raise RuntimeError(f"foreign keys broken by the migration: {broken}")
    connection.commit()
    connection.exec_driver_sql("PRAGMA foreign_keys=ON")
