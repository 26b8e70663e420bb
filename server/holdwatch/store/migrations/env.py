"""Runs the migrations on the connection handed in by `migrate`."""

from alembic import context

from holdwatch.store.tables import metadata

connection = context.config.attributes["connection"]
sqlite = connection.dialect.name == "sqlite"
# Batch mode rebuilds tables; with foreign keys on, dropping a parent would delete its children.
if sqlite:
    connection.exec_driver_sql("PRAGMA foreign_keys=OFF")
    connection.commit()
context.configure(connection=connection, target_metadata=metadata, render_as_batch=True)
with context.begin_transaction():
    context.run_migrations()
if sqlite:
    broken = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
    if broken:
        raise RuntimeError(f"foreign keys broken by the migration: {broken}")
    connection.commit()
    connection.exec_driver_sql("PRAGMA foreign_keys=ON")
