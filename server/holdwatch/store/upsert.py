"""Insert or update in one statement, which SQLite and PostgreSQL write alike and SQLAlchemy twice."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import sqlalchemy as sa
from sqlalchemy.dialects import postgresql, sqlite


def inserting(db: sa.Connection, table: sa.Table) -> Any:
    """An insert into `table` that knows `on_conflict_do_update` and `on_conflict_do_nothing`."""
    dialect: Any = sqlite if db.dialect.name == "sqlite" else postgresql
    return dialect.insert(table)


def insert_rows(db: sa.Connection, table: sa.Table, rows: Sequence[tuple[Any, ...]]) -> None:
    """Insert rows, each a tuple in the order of the columns, by the driver itself.

    For very many rows: SQLAlchemy looks at every value of every one, which takes longer than the database does.
    """
    mark = "?" if db.dialect.paramstyle == "qmark" else "%s"
    names, marks = (", ".join(one) for one in zip(*((column.name, mark) for column in table.columns), strict=True))
    db.exec_driver_sql(f"INSERT INTO {table.name} ({names}) VALUES ({marks})", list(rows))


def upsert_rows(db: sa.Connection, table: sa.Table, rows: Sequence[Mapping[str, Any]]) -> None:
    """Insert rows by the driver itself, or replace those that are there; all name the same columns in one order."""
    keys = [column.name for column in table.primary_key]
    changed = ", ".join(f"{name} = excluded.{name}" for name in next(iter(rows), ()) if name not in keys)
    _insert(db, table, rows, f"ON CONFLICT ({', '.join(keys)}) DO UPDATE SET {changed}")


def insert_new_rows(db: sa.Connection, table: sa.Table, rows: Sequence[Mapping[str, Any]]) -> None:
    """Insert rows by the driver itself, and leave those that are there; all name the same columns in one order."""
    _insert(db, table, rows, "ON CONFLICT DO NOTHING")


def _insert(db: sa.Connection, table: sa.Table, rows: Sequence[Mapping[str, Any]], on_conflict: str) -> None:
    if not rows:
        return
    mark = "?" if db.dialect.paramstyle == "qmark" else "%s"
    names, marks = ", ".join(rows[0]), ", ".join(mark for _ in rows[0])
    statement = f"INSERT INTO {table.name} ({names}) VALUES ({marks}) {on_conflict}"
    db.exec_driver_sql(statement, [tuple(row.values()) for row in rows])


def upserting(db: sa.Connection, table: sa.Table) -> Any:
    """An insert that replaces every other column where the primary key is there already."""
    statement = inserting(db, table)
    keys = [column.name for column in table.primary_key]
    changed = {c.name: statement.excluded[c.name] for c in table.columns if c.name not in keys}
    return statement.on_conflict_do_update(index_elements=keys, set_=changed)
