"""PostgreSQL's own programs set the database back; `new-epoch` does the rest, and phones bring back what it lacks."""

from __future__ import annotations

import subprocess
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
import sqlalchemy as sa

from holdwatch.services import access
from holdwatch.services.access import SignedOut
from holdwatch.services.derived import derived_body
from holdwatch.services.identity import is_earlier, new_identity
from holdwatch.services.restoring import CannotRestore, new_epoch
from holdwatch.store import tables
from holdwatch.store.database import open_database, reading, writing
from holdwatch.store.migrate import migrate
from people import Clock, Neighbours, settle
from postgresql.cluster import USER, binaries
from sync.client_phone import running_node
from sync.home import Home, Refused
from sync.test_restored import after_the_copy, before_the_copy, come_in, copies_are_equal, is_there, less_replaced


@pytest.fixture
def own_engine(new_database: Callable[[], str]) -> Iterator[sa.Engine]:
    """An engine on a database of the test's own, whose identity it may change."""
    engine = open_database(new_database())
    yield engine
    engine.dispose()


@pytest.fixture
def neighbours(own_engine: sa.Engine, clock: Clock, password_hash: str) -> Neighbours:
    """The people in it."""
    with writing(own_engine) as db:
        return settle(db, password_hash, clock.now())


def test_a_new_epoch_ends_what_was_handed_out_and_tells_every_household(own_engine, neighbours, clock):
    before = migrate(own_engine, new_identity)
    own_engine.dispose()
    done = new_epoch(str(own_engine.url), clock.move(hours=30))
    after = migrate(own_engine, new_identity)
    assert is_earlier(after, before.epoch) and after.database_id == before.database_id
    assert len(done.people) == 4 and not done.carried and done.kept is None
    with reading(own_engine) as db:
        for opened in vars(neighbours).values():
            with pytest.raises(SignedOut):
                access.whoever(db, opened.cookie_value, clock.now())
        told = derived_body(db, neighbours.owner.who.household_id, "set_back", None)
        assert told == {"at": "2026-11-27T02:10:00.000Z", "ends_at": "2026-11-25T20:10:00.000Z"}
        assert db.execute(sa.select(tables.push_subscription)).all() == []


def test_while_anybody_is_connected_nothing_is_done(own_engine, neighbours, clock):
    before = migrate(own_engine, new_identity)
    with own_engine.connect(), pytest.raises(CannotRestore, match="The database is in use"):
        new_epoch(str(own_engine.url), clock.now())
    assert migrate(own_engine, new_identity) == before


def postgres(engine: sa.Engine, program: str, *words: str | Path) -> None:
    """One of PostgreSQL's own programs."""
    command = [binaries() / program, "-h", str(engine.url.query["host"]), "-U", USER, *words]
    subprocess.run([str(word) for word in command], check=True, capture_output=True, timeout=120)


@pytest.fixture
def home(own_engine: sa.Engine, password_hash: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Home]:
    """The real server on that database, and phones of both makes."""
    monkeypatch.setenv("HOLDWATCH_PHOTOS", str(tmp_path / "photos"))
    with writing(own_engine) as db:
        people = settle(db, password_hash, datetime.now(UTC))
    home = Home(own_engine, tmp_path / "server.log")
    with running_node() as node:
        for role in ("owner", "keeper", "helper"):
            home.hand(role, role, getattr(people, role).who, node if role != "keeper" else None)
        yield home


def test_phones_bring_back_what_a_dump_lacks_also_when_it_is_restored_twice(home: Home, tmp_path: Path):
    engine, name = home.engine, str(home.engine.url.database)
    with home.serve():
        come_in(home)
        made, writes = before_the_copy(home)
        postgres(engine, "pg_dump", "-Fc", "-f", tmp_path / "tuesday", name)
        writes += after_the_copy(home, made)
    for number in range(2):
        # What stood there is gone, and with it the first new epoch: the second time the dump knows nothing of it.
        postgres(engine, "dropdb", name)
        postgres(engine, "createdb", name)
        postgres(engine, "pg_restore", "-d", name, tmp_path / "tuesday")
        assert "Ilka, owner of Reedmarsh Lane" in home.command("new-epoch")
        with home.serve():
            with pytest.raises(Refused, match="401 signed_out"):
                home.hands["owner"].round_trip()
            for role in ("owner", "keeper") if number == 0 else tuple(home.hands):
                home.hands[role].sign_in()
            home.all_agree(("owner", "keeper") if number == 0 else ())
    copies_are_equal(home)
    is_there(home, less_replaced(writes, made))
