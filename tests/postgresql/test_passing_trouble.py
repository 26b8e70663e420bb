"""What passes by itself on PostgreSQL, and what is a fault of ours, by its SQLSTATE (PostgreSQL 15, appendix A)."""

from __future__ import annotations

import pytest
import sqlalchemy as sa
from sqlalchemy.exc import OperationalError

from holdwatch.store.database import is_passing, open_database, writing


def trouble(engine: sa.Engine, *statements: str) -> OperationalError:
    """What the last of these statements ends in."""
    with pytest.raises(OperationalError) as found, writing(engine) as db:
        for statement in statements:
            db.exec_driver_sql(statement)
    return found.value


def test_a_row_that_another_holds_passes(engine: sa.Engine):
    with writing(engine) as holder:
        holder.exec_driver_sql("LOCK TABLE household")
        problem = trouble(engine, "SET LOCAL lock_timeout = '50ms'", "LOCK TABLE household")
    assert problem.orig.sqlstate == "55P03" and is_passing(problem)


def test_a_statement_that_was_ended_from_outside_passes(engine: sa.Engine):
    problem = trouble(engine, "SET LOCAL statement_timeout = '50ms'", "SELECT pg_sleep(10)")
    assert problem.orig.sqlstate == "57014" and is_passing(problem)


def test_a_server_that_is_away_passes(engine: sa.Engine):
    nowhere = open_database(engine.url.set(host="127.0.0.1", port=1, query={}))
    problem = trouble(nowhere, "SELECT 1")
    assert problem.orig.sqlstate is None and is_passing(problem)


def test_a_statement_that_asks_for_too_much_is_a_fault_of_ours(engine: sa.Engine):
    problem = trouble(engine, "SELECT " + ", ".join("1" for _ in range(1665)))
    assert problem.orig.sqlstate == "54011" and not is_passing(problem)
