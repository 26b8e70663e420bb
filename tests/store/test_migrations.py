"""The migrations lead to the very tables that the program speaks to, from whichever shape a database has."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from holdwatch.services.identity import new_identity
from holdwatch.services.sync.history import digest_of
from holdwatch.store.database import open_database
from holdwatch.store.migrate import alembic_config, migrate
from holdwatch.store.tables import metadata

OVERRULED = {"record_id": "r", "field": "note", "stamp": "s", "value": '"what was"', "author": "a", "revision": 7}


@pytest.fixture
def empty_address(tmp_path: Path) -> str:
    """Where no database stands yet."""
    return f"sqlite:///{tmp_path / 'new' / 'holdwatch.sqlite3'}"


@pytest.fixture
def opened(empty_address: str) -> Iterator[Callable[[], sa.Engine]]:
    """Opens it once more."""
    engines: list[sa.Engine] = []

    def again() -> sa.Engine:
        engines.append(open_database(empty_address))
        return engines[-1]

    yield again
    for engine in engines:
        engine.dispose()


def test_a_migrated_database_has_the_tables_that_the_program_knows(engine: sa.Engine):
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, metadata) == []


def put_before(engine: sa.Engine, revision: str, *rows: tuple[str, dict[str, Any]]) -> None:
    """Put these rows, each with its table, into a database as it was at that revision; then bring it up."""
    config = alembic_config()
    with engine.connect() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, revision)
        connection.commit()
    with engine.begin() as db:
        household = {"household_id": "h", "name": "Reedmarsh", "revision": 7, "created_at": 0}
        for table, row in (("household", household), *rows):
            db.execute(sa.table(table, *map(sa.column, row)).insert().values(row))
    migrate(engine, new_identity)


def test_what_was_overruled_before_is_kept_when_the_database_changes_its_shape(opened):
    engine = opened()
    put_before(engine, "0005", ("history", {"household_id": "h", **OVERRULED}))
    with engine.connect() as db:
        (row,) = db.execute(sa.select(metadata.tables["history"])).mappings()
        assert {name: row[name] for name in OVERRULED} == OVERRULED
        assert row["digest"] == digest_of(OVERRULED["value"])
        key = sa.inspect(db).get_pk_constraint("history")["constrained_columns"]
    assert key == [column.name for column in metadata.tables["history"].primary_key]


def test_duties_of_before_are_told_at_their_time_and_no_calendar_hears_a_lower_sequence(opened):
    engine = opened()
    told = {"household_id": "h", "kind": "look_tonight", "brood_id": "b", "night": "2026-11-25", "zone": "UTC"}
    told |= {"due_at": 9, "tell_at": 7, "until_at": 11, "queued": False, "skipped": False, "put_off": "{}"}
    duties = [("stands", 1, None), ("moved", 3, None), ("withdrawn", 2, 5)]
    rows = [{**told, "key": key, "version": version, "withdrawn_at": at} for key, version, at in duties]
    put_before(engine, "0007", *(("duty", row) for row in rows))
    with engine.connect() as db:
        found = {row.key: (row.ask_at, row.sequence) for row in db.execute(sa.select(metadata.tables["duty"]))}
    # Until then a calendar was told twice the version less one, and one more of what was withdrawn.
    assert found == {"stands": (7, 0), "moved": (7, 4), "withdrawn": (7, 3)}


def migrated(address: str) -> str:
    """The id of the database there, which is made or brought up first."""
    engine = open_database(address)
    try:
        return migrate(engine, new_identity).database_id
    finally:
        engine.dispose()


def test_servers_that_start_at_once_make_one_database(empty_address):
    with ProcessPoolExecutor(3, get_context("spawn")) as servers:
        assert len(set(servers.map(migrated, [empty_address] * 3))) == 1


def test_a_migration_that_was_cut_off_begins_anew(opened):
    first, second = opened(), opened()

    @sa.event.listens_for(first, "before_cursor_execute")
    def cut_off(_connection, _cursor, statement, *_more):
        if statement.startswith("UPDATE history"):
            raise InterruptedError("killed")

    with pytest.raises(InterruptedError):
        migrate(first, new_identity)
    first.dispose()
    migrate(second, new_identity)
    with second.connect() as db:
        assert set(metadata.tables) <= set(sa.inspect(db).get_table_names())
