"""A backup is a sound copy, or nothing."""

import sqlite3
import stat
from contextlib import closing
from pathlib import Path

import pytest
import sqlalchemy as sa

from holdwatch.config import Settings
from holdwatch.services.backup import CannotBackUp, back_up
from holdwatch.store.database import open_database, writing
from holdwatch.store.tables import household


def test_a_folder_with_odd_characters_is_copied_whole(
    migrated_database: Path, tmp_path: Path
):
    odd = tmp_path / "a#b?c"
    odd.mkdir()
    (odd / "house.sqlite3").write_bytes(migrated_database.read_bytes())
    back_up(f"sqlite:///{str(odd).replace('?', '%3F')}/house.sqlite3", tmp_path / "copy.sqlite3")
    assert _names(tmp_path / "copy.sqlite3") == []


def _names(path: Path) -> list[str]:
    with closing(sqlite3.connect(path)) as db:
        return [name for (name,) in db.execute("select name from household")]


def test_a_copy_made_in_the_middle_of_a_write_holds_what_was_committed(
    engine: sa.Engine, settings: Settings, tmp_path: Path
):
    row = {"household_id": "h1", "name": "Tern Quay", "created_at": 0, "revision": 0}
    with writing(engine) as db:
        db.execute(sa.insert(household).values(row))
    with writing(engine) as db:
        db.execute(sa.insert(household).values({**row, "household_id": "h2", "name": "not yet"}))
        size = back_up(settings.database_url, tmp_path / "copy.sqlite3")
    assert size == (tmp_path / "copy.sqlite3").stat().st_size
    assert _names(tmp_path / "copy.sqlite3") == ["Tern Quay"]


def test_neither_the_database_nor_its_copy_can_be_read_by_others(
    engine: sa.Engine, settings: Settings, tmp_path: Path
):
    fresh = open_database(f"sqlite:///{tmp_path / 'new' / 'holdwatch.sqlite3'}")
    fresh.dispose()
    back_up(settings.database_url, tmp_path / "copy.sqlite3")
    files = (tmp_path / "new" / "holdwatch.sqlite3", tmp_path / "copy.sqlite3")
    assert [stat.S_IMODE(file.stat().st_mode) for file in files] == [0o600, 0o600]


def test_an_existing_file_is_never_overwritten(engine: sa.Engine, settings: Settings, tmp_path: Path):
    target = tmp_path / "kept.sqlite3"
    target.write_text("mine")
    with pytest.raises(CannotBackUp, match="exists already"):
        back_up(settings.database_url, target)
    assert target.read_text() == "mine"


def test_a_damaged_database_gives_no_copy_and_leaves_nothing_behind(tmp_path: Path):
    broken = tmp_path / "broken.sqlite3"
    broken.write_bytes(b"SQLite format 3\x00" + b"\xff" * 4096)
    with pytest.raises(CannotBackUp, match="No copy was made"):
        back_up(f"sqlite:///{broken}", tmp_path / "copy.sqlite3")
    assert sorted(file.name for file in tmp_path.iterdir()) == ["broken.sqlite3"]


@pytest.mark.parametrize(
    ("url", "target", "reason"),
    [
        ("sqlite:////nowhere/at/all.sqlite3", "copy.sqlite3", "There is no database"),
        ("postgresql://host/db", "copy.sqlite3", "pg_dump"),
    ],
)
def test_what_cannot_be_copied_is_said(url: str, target: str, reason: str, tmp_path: Path):
    with pytest.raises(CannotBackUp, match=reason):
        back_up(url, tmp_path / target)
