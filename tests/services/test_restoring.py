"""A database is set back to a copy of it, whole or not at all, and what stood there is kept."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
import sqlalchemy as sa
from alembic import command

from holdwatch.services import access
from holdwatch.services.access import SignedOut
from holdwatch.services.backup import back_up
from holdwatch.services.identity import is_earlier, new_identity
from holdwatch.services.restoring import CannotRestore, new_epoch, restore
from holdwatch.store import tables
from holdwatch.store.database import open_database, reading
from holdwatch.store.migrate import Identity, alembic_config, migrate, shape
from people import START
from services.copied import set_back
from sync.pushing import added, push, rows


def identity(engine: sa.Engine) -> Identity:
    return migrate(engine, new_identity)


def test_a_copy_takes_the_place_of_the_database_and_what_stood_there_is_kept(
    engine, settings, neighbours, copy, clock, afterwards
):
    before = identity(engine)
    look = added(neighbours.owner.who, "look")
    push(engine, neighbours.owner.who, [look])
    done = set_back(engine, settings, copy, clock)
    assert look["id"] not in rows(afterwards, neighbours.owner.who)
    kept = open_database(f"sqlite:///{done.kept}")
    assert look["id"] in rows(kept, neighbours.owner.who) and identity(kept) == before
    kept.dispose()
    after = identity(afterwards)
    assert (after.database_id, after.vapid_private) == (before.database_id, before.vapid_private)
    assert is_earlier(after, before.epoch) and before.epoch in after.earlier_epochs.split()
    assert done.heard_at == START and done.carried
    assert done.people == [
        "Bram, owner of Quarry Cottage", "Ilka, owner of Reedmarsh Lane", "Tamsin, keeper of Reedmarsh Lane",
        "Joris, helper of Reedmarsh Lane",
    ]  # fmt: skip
    assert sorted(file.name for file in copy.parent.iterdir()) == sorted(
        [copy.name, "holdwatch.sqlite3", "holdwatch.sqlite3-shm", "holdwatch.sqlite3-wal", done.kept.name]
    )


def test_where_nothing_stood_or_what_stood_is_damaged_all_is_as_in_the_copy(
    engine, settings, neighbours, copy, clock, tmp_path
):
    engine.dispose()
    stood = tmp_path / "holdwatch.sqlite3"
    for broken in (None, b"nothing of SQLite's", b"SQLite format 3\0" + b"\xff" * 8000):
        stood.unlink(missing_ok=True)
        if broken is not None:
            stood.write_bytes(broken)
            (tmp_path / "holdwatch.sqlite3-wal").write_bytes(b"a log of it")
        done = restore(settings.database_url, copy, clock.move(minutes=1))
        assert not done.carried and len(done.people) == 4
        assert (done.kept and done.kept.read_bytes()) == broken
        assert not list(tmp_path.glob("holdwatch.sqlite3-*")) and not list(tmp_path.glob("*.restoring*"))
        with closing(sqlite3.connect(stood)) as db:
            assert db.execute("select count(*) from person").fetchone() == (4,)


def test_an_empty_file_is_moved_aside(settings, engine, neighbours, copy, clock, tmp_path):
    engine.dispose()
    (tmp_path / "holdwatch.sqlite3").write_bytes(b"")
    done = restore(settings.database_url, copy, clock.now())
    assert done.kept and done.kept.exists() and not done.carried and len(done.people) == 4


def test_a_page_that_went_bad_is_found_and_the_rest_of_it_kept(engine, settings, neighbours, copy, clock, tmp_path):
    engine.dispose()
    stood = tmp_path / "holdwatch.sqlite3"
    damaged = bytearray(stood.read_bytes())
    damaged[3 * 4096 : 4 * 4096] = b"\xa5" * 4096
    stood.write_bytes(damaged)
    done = restore(settings.database_url, copy, clock.now())
    # SQLite writes in the first page alone, where it says how its log is kept.
    assert done.kept and done.kept.read_bytes()[4096:] == damaged[4096:] and not done.carried


def test_it_is_set_back_twice_and_knows_every_epoch_that_phones_may_name(
    engine, settings, neighbours, copy, clock, afterwards, tmp_path
):
    epochs = [identity(engine).epoch]
    for _ in range(2):
        set_back(engine, settings, copy, clock)
        epochs.append(identity(afterwards).epoch)
        afterwards.dispose()
    # What was there is lost, and all that is left is the first copy.
    (tmp_path / "holdwatch.sqlite3").unlink()
    restore(settings.database_url, copy, clock.now())
    last = identity(afterwards)
    assert len({*epochs, last.epoch}) == 4
    assert all(is_earlier(last, epoch) for epoch in epochs)


def test_a_database_in_use_is_left_alone(engine, settings, neighbours, copy, clock, tmp_path):
    with engine.connect():
        with pytest.raises(CannotRestore, match="is in use. Stop what uses it first"):
            restore(settings.database_url, copy, clock.now())
        with pytest.raises(CannotRestore, match="is in use"):
            new_epoch(settings.database_url, clock.now())
    assert not list(tmp_path.glob("*.before-*")) and not list(tmp_path.glob("*.restoring*"))


def test_a_copy_of_another_database_does_not_take_its_place(engine, settings, neighbours, clock, tmp_path):
    other = open_database(f"sqlite:///{tmp_path / 'other' / 'holdwatch.sqlite3'}")
    migrate(other, new_identity)
    back_up(str(other.url), tmp_path / "copy")
    engine.dispose()
    with pytest.raises(CannotRestore, match="is a copy of another database than the one that stands there"):
        restore(settings.database_url, tmp_path / "copy", clock.now())
    # Nobody lives in that one, so it may go.
    back_up(settings.database_url, tmp_path / "ours")
    other.dispose()
    done = restore(str(other.url), tmp_path / "ours", clock.now())
    assert not done.carried and len(done.people) == 4
    other.dispose()


def test_a_copy_of_an_older_shape_is_brought_to_the_newest(engine, settings, neighbours, clock, tmp_path, afterwards):
    engine.dispose()
    old = tmp_path / "old"
    _make_old(old, tmp_path / "holdwatch.sqlite3")
    done = restore(settings.database_url, old, clock.now())
    assert done.carried and len(done.people) == 4
    with reading(afterwards) as db:
        assert shape(db) != "0003"
        assert db.execute(sa.select(tables.record)).all() == []


def _make_old(old: Path, present: Path) -> None:
    """A database of the third shape, with the people of the present one."""
    blank = sa.create_engine(f"sqlite:///{old}")
    config = alembic_config()
    with blank.connect() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "0003")
        connection.commit()
    blank.dispose()
    with closing(sqlite3.connect(old)) as db, db:
        db.execute("ATTACH ? AS present", [str(present)])
        for table in ("server_identity", "household", "person"):
            names = ", ".join(row[1] for row in db.execute(f"PRAGMA table_info({table})"))
            db.execute(f"INSERT INTO {table} ({names}) SELECT {names} FROM present.{table}")


def _all_of(file: Path) -> list[str]:
    with closing(sqlite3.connect(file)) as db:
        return list(db.iterdump())


def _newer(copy: Path) -> None:
    with closing(sqlite3.connect(copy)) as db, db:
        db.execute("UPDATE alembic_version SET version_num = '9999'")


def _foreign(copy: Path) -> None:
    copy.unlink()
    with closing(sqlite3.connect(copy)) as db, db:
        db.execute("CREATE TABLE aquarelle (x)")


def _nobodys(copy: Path) -> None:
    with closing(sqlite3.connect(copy)) as db, db:
        db.execute("DELETE FROM server_identity")


def _torn(copy: Path) -> None:
    copy.write_bytes(copy.read_bytes()[: 20 * 4096])


def _orphaned(copy: Path) -> None:
    with closing(sqlite3.connect(copy)) as db, db:
        db.execute("DELETE FROM household")


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (lambda copy: copy.unlink(), "There is no file"),
        (lambda copy: copy.write_text("a diary"), "is no sound copy of a database of Holdwatch's"),
        (_torn, "is no sound copy"),
        (_foreign, "is no sound copy of a database of Holdwatch's: no such table"),
        (_nobodys, "it has no identity"),
        (_orphaned, "belongs to nothing in household"),
        (_newer, "was made by a newer Holdwatch than this one. Update Holdwatch, then restore it."),
    ],
)
def test_what_is_no_copy_is_refused_and_nothing_has_changed(
    engine, settings, neighbours, copy, clock, tmp_path, spoil, says
):
    engine.dispose()
    before = _all_of(tmp_path / "holdwatch.sqlite3")
    spoil(copy)
    with pytest.raises(CannotRestore, match=says):
        restore(settings.database_url, copy, clock.now())
    assert _all_of(tmp_path / "holdwatch.sqlite3") == before
    assert not list(tmp_path.glob("*.before-*")) and not list(tmp_path.glob("*.restoring*"))


def test_the_database_itself_is_no_copy_of_it(engine, settings, neighbours, clock, tmp_path):
    engine.dispose()
    with pytest.raises(CannotRestore, match="is the database itself"):
        restore(settings.database_url, tmp_path / "holdwatch.sqlite3", clock.now())


def test_a_postgresql_database_is_told_its_own_way(clock, tmp_path):
    with pytest.raises(CannotRestore, match="use its own pg_restore, and then `holdwatch new-epoch`"):
        restore("postgresql://ilka@db/holdwatch", tmp_path / "copy", clock.now())


def test_a_file_that_was_put_back_by_hand_begins_a_new_epoch(engine, settings, neighbours, copy, clock, afterwards):
    before = identity(engine)
    engine.dispose()
    shutil.copy(copy, Path(str(engine.url.database)))
    done = new_epoch(settings.database_url, clock.now())
    after = identity(afterwards)
    assert is_earlier(after, before.epoch)
    assert (done.kept, done.carried, done.heard_at, len(done.people)) == (None, False, START, 4)
    with reading(afterwards) as db, pytest.raises(SignedOut):
        access.whoever(db, neighbours.owner.cookie_value, clock.now())


def test_who_may_not_restore_leaves_alone_what_another_restore_is_at_work_on(
    engine, settings, neighbours, copy, clock, tmp_path
):
    push(engine, neighbours.owner.who, [added(neighbours.owner.who, "look")])
    theirs = tmp_path / "holdwatch.sqlite3.restoring"
    theirs.write_text("half of a copy")
    with pytest.raises(CannotRestore, match="is in use"):
        restore(settings.database_url, copy, clock.now())
    assert theirs.read_text() == "half of a copy"
