"""Photos are copied along with the database, and put back where they lack."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest
import sqlalchemy as sa

from holdwatch import cli
from holdwatch.config import Settings
from holdwatch.services import photos
from people import START, Neighbours
from pictures import name_of, photo
from services.photographs import piece_of, send

FIRST, SECOND = photo(), photo(300, 200)


@pytest.fixture
def cabinet(engine: sa.Engine, settings: Settings, neighbours: Neighbours, monkeypatch) -> photos.Cabinet:
    """One photo of each household and a begun one, and the settings of the commands."""
    assert settings.photos_folder is not None
    monkeypatch.setenv("HOLDWATCH_DATABASE", settings.database_url)
    monkeypatch.setenv("HOLDWATCH_PHOTOS", str(settings.photos_folder))
    cabinet = photos.Cabinet(engine, photos.Shelf(settings.photos_folder), 10**9)
    send(cabinet, neighbours.owner.who, FIRST)
    send(cabinet, neighbours.stranger.who, SECOND)
    photos.take_piece(cabinet, neighbours.owner.who, piece_of(SECOND, 0, 100), START)
    return cabinet


def names(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*.*"))


def test_a_backup_has_the_photos_beside_it_and_a_restore_puts_back_what_lacks(
    cabinet: photos.Cabinet, neighbours: Neighbours, tmp_path: Path, capsys
):
    copy, beside = tmp_path / "copies" / "copy.sqlite3", tmp_path / "copies" / "copy.sqlite3-photos"
    copy.parent.mkdir()
    assert cli.main(["backup", str(copy)]) == 0
    assert f"Photos copied to {beside}: 2." in capsys.readouterr().out
    owner, stranger = neighbours.owner.who.household_id, neighbours.stranger.who.household_id
    expected = [
        f"{who}/{name_of(data)}{end}"
        for who, data in ((owner, FIRST), (stranger, SECOND))
        for end in (".jpg", ".small.jpg")
    ]
    assert names(beside) == sorted(expected)
    modes = {stat.S_IMODE(path.stat().st_mode) for path in [beside, *beside.rglob("*")]}
    assert modes == {0o700, 0o600}
    lost = cabinet.shelf.full(owner, name_of(FIRST))
    lost.unlink()
    cabinet.engine.dispose()
    assert cli.main(["restore", str(copy)]) == 0
    assert f"Photos copied to {cabinet.shelf.folder}: 1." in capsys.readouterr().out
    assert lost.read_bytes() == (beside / owner / lost.name).read_bytes()


def test_photos_that_cannot_be_copied_are_told_of(cabinet: photos.Cabinet, tmp_path: Path, capsys):
    (tmp_path / "copy.sqlite3-photos").write_text("in the way")
    assert cli.main(["backup", str(tmp_path / "copy.sqlite3")]) == 2
    printed = capsys.readouterr()
    assert "checked." in printed.out
    assert "The database was copied, but not all of its photos" in printed.err and "by hand" in printed.err


def test_nothing_but_photos_is_copied_and_nothing_half(cabinet: photos.Cabinet, tmp_path: Path, monkeypatch):
    household = next(cabinet.shelf.folder.iterdir())
    (household / "notes.jpg").write_text("no photo")
    (household / f"{'0' * 64}.jpg.0123.new").write_text("half")
    real = os.replace
    monkeypatch.setattr(os, "replace", lambda *_: (_ for _ in ()).throw(OSError("no")))
    with pytest.raises(OSError, match="no"):
        photos.copy_photos(cabinet.shelf.folder, tmp_path / "copy")
    assert names(tmp_path / "copy") == []
    monkeypatch.setattr(os, "replace", real)
    assert photos.copy_photos(cabinet.shelf.folder, tmp_path / "copy") == 2
    assert len(names(tmp_path / "copy")) == 4
    assert photos.copy_photos(cabinet.shelf.folder, tmp_path / "copy") == 0


def test_where_there_are_no_photos_nothing_is_said_of_them(engine, settings, monkeypatch, tmp_path: Path, capsys):
    monkeypatch.setenv("HOLDWATCH_DATABASE", settings.database_url)
    assert cli.main(["backup", str(tmp_path / "copy.sqlite3")]) == 0
    assert "Photos" not in capsys.readouterr().out and not (tmp_path / "copy.sqlite3-photos").exists()
