"""A photo comes in whole or in pieces, once, and only as far as there is room."""

from __future__ import annotations

import errno
import os
import shutil
import stat
import threading
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
import sqlalchemy as sa

from holdwatch.services import access, photos
from holdwatch.services.photos import shelf as shelves
from holdwatch.services.photos.arriving import WRONG_HASH
from holdwatch.store.database import reading, writing
from holdwatch.store.tables import photo, photo_upload
from people import START, Neighbours
from pictures import drawn, name_of, saved
from pictures import photo as a_photo
from services.photographs import piece_of, send

# Some pieces of it are sent, and some are not.
LARGE = a_photo(2000, 1500)


@pytest.fixture
def cabinet(engine: sa.Engine, tmp_path: Path) -> photos.Cabinet:
    """An empty cabinet with room for a hundred megabytes of each household."""
    return photos.Cabinet(engine, photos.Shelf(tmp_path / "photos"), 100_000_000)


def files(cabinet: photos.Cabinet) -> set[str]:
    """The names of all files in the cabinet, without their households."""
    return {path.name for path in cabinet.shelf.folder.rglob("*") if path.is_file()}


def rows(engine: sa.Engine, table: sa.Table) -> list[sa.Row]:
    with reading(engine) as db:
        return list(db.execute(sa.select(table)))


def arrival(cabinet: photos.Cabinet, who: access.Who, data: bytes) -> photos.Arrival:
    with reading(cabinet.engine) as db:
        return photos.arrival_of(db, cabinet, who, name_of(data))


def room(cabinet: photos.Cabinet, who: access.Who) -> photos.Room:
    with reading(cabinet.engine) as db:
        return photos.room_for(db, cabinet, who)


def test_a_photo_in_pieces_is_kept_and_what_was_uploaded_is_gone(cabinet, engine, neighbours: Neighbours):
    who = neighbours.owner.who
    assert send(cabinet, who, LARGE, step=10_000) == photos.Arrival(True, 0)
    (kept,) = rows(engine, photo)
    assert (kept.sha256, kept.person_id, kept.width, kept.height) == (name_of(LARGE), who.person_id, 2000, 1500)
    assert rows(engine, photo_upload) == []
    assert files(cabinet) == {f"{name_of(LARGE)}.jpg", f"{name_of(LARGE)}.small.jpg"}
    assert kept.kept_bytes == sum(path.stat().st_size for path in cabinet.shelf.folder.rglob("*.jpg"))
    assert arrival(cabinet, who, LARGE).kept


def test_after_a_broken_line_it_goes_on_where_the_server_is(cabinet, neighbours: Neighbours):
    who = neighbours.owner.who
    photos.take_piece(cabinet, who, piece_of(LARGE, 0, 30_000), START)
    assert arrival(cabinet, who, LARGE) == photos.Arrival(False, 30_000, len(LARGE))
    for offset in (0, 29_999, 30_001, 60_000):
        with pytest.raises(photos.WrongOffset) as wrong:
            photos.take_piece(cabinet, who, piece_of(LARGE, offset, 1000), START)
        assert wrong.value.where == {"offset": ["30000"]}
    assert photos.take_piece(cabinet, who, piece_of(LARGE, 30_000), START).kept


def test_a_photo_that_is_there_may_be_sent_again_by_anybody(cabinet, engine, neighbours: Neighbours):
    send(cabinet, neighbours.owner.who, LARGE)
    before = rows(engine, photo)
    assert send(cabinet, neighbours.helper.who, LARGE).kept
    assert photos.take_piece(cabinet, neighbours.owner.who, piece_of(LARGE, 7, 3), START).kept
    assert rows(engine, photo) == before


def test_two_phones_that_send_the_same_photo_at_once_make_one(cabinet, engine, neighbours: Neighbours):
    people, problems = (neighbours.owner.who, neighbours.keeper.who), []

    def phone(who: access.Who) -> None:
        try:
            while not (state := arrival(cabinet, who, LARGE)).kept:
                try:
                    photos.take_piece(cabinet, who, piece_of(LARGE, state.had, 20_000), START)
                except photos.WrongOffset:
                    continue
        except Exception as problem:
            problems.append(problem)
            raise

    threads = [threading.Thread(target=phone, args=(who,)) for who in people]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert problems == [] and len(rows(engine, photo)) == 1 and rows(engine, photo_upload) == []
    assert files(cabinet) == {f"{name_of(LARGE)}.jpg", f"{name_of(LARGE)}.small.jpg"}


def test_the_same_photo_of_two_households_lies_apart(cabinet, engine, neighbours: Neighbours):
    send(cabinet, neighbours.owner.who, LARGE)
    assert not arrival(cabinet, neighbours.stranger.who, LARGE).kept
    send(cabinet, neighbours.stranger.who, LARGE)
    households = {neighbours.owner.who.household_id, neighbours.stranger.who.household_id}
    assert {row.household_id for row in rows(engine, photo)} == households
    assert {path.name for path in cabinet.shelf.folder.iterdir()} == households


@pytest.mark.parametrize(
    ("data", "name", "words"),
    [
        (a_photo(), "0" * 64, WRONG_HASH),
        (b"no picture", None, "This is no picture"),
        (LARGE[:-9000], None, "cut short"),
    ],
)
def test_what_is_refused_leaves_nothing_behind(cabinet, engine, neighbours: Neighbours, data, name, words):
    with pytest.raises(photos.PhotoRefused, match=words):
        photos.take_piece(cabinet, neighbours.owner.who, piece_of(data, name=name), START)
    assert (rows(engine, photo), rows(engine, photo_upload), files(cabinet)) == ([], [], set())
    # And holds up nothing else.
    assert send(cabinet, neighbours.owner.who, LARGE).kept


def test_more_bytes_than_a_photo_may_have_are_refused_before_any_comes(cabinet, engine, neighbours: Neighbours):
    piece = replace(piece_of(LARGE, 0, 10), promised_bytes=photos.PHOTO_LIMIT_BYTES + 1)
    with pytest.raises(photos.PhotoTooLarge, match="8 MB at most"):
        photos.take_piece(cabinet, neighbours.owner.who, piece, START)
    assert rows(engine, photo_upload) == []


def test_more_bytes_than_were_announced_are_refused(cabinet, neighbours: Neighbours):
    with pytest.raises(photos.PhotoRefused, match="More of this photo came"):
        photos.take_piece(cabinet, neighbours.owner.who, replace(piece_of(LARGE), promised_bytes=100), START)


def test_another_size_than_before_begins_anew(cabinet, neighbours: Neighbours):
    who = neighbours.owner.who
    photos.take_piece(cabinet, who, replace(piece_of(LARGE, 0, 100), promised_bytes=500), START)
    with pytest.raises(photos.WrongOffset) as wrong:
        photos.take_piece(cabinet, who, piece_of(LARGE, 100), START)
    assert wrong.value.where == {"offset": ["0"]}
    assert photos.take_piece(cabinet, who, piece_of(LARGE), START).kept


def test_all_pieces_there_and_nothing_kept_yet_is_finished_by_an_empty_one(cabinet, engine, neighbours: Neighbours):
    who = neighbours.owner.who
    photos.take_piece(cabinet, who, piece_of(LARGE, 0, len(LARGE) - 1), START)
    # As after a server that was killed between the last piece and the drawing.
    with cabinet.shelf.part(who.household_id, name_of(LARGE)).open("ab") as part:
        part.write(LARGE[-1:])
    with writing(engine) as db:
        db.execute(sa.update(photo_upload).values(had_bytes=len(LARGE)))
    assert arrival(cabinet, who, LARGE).had == len(LARGE)
    assert photos.take_piece(cabinet, who, piece_of(LARGE, len(LARGE)), START).kept


def test_a_part_that_is_shorter_than_was_counted_begins_anew(cabinet, neighbours: Neighbours):
    who = neighbours.owner.who
    photos.take_piece(cabinet, who, piece_of(LARGE, 0, 30_000), START)
    os.truncate(cabinet.shelf.part(who.household_id, name_of(LARGE)), 29_000)
    assert arrival(cabinet, who, LARGE) == photos.Arrival(False, 0)
    assert send(cabinet, who, LARGE).kept


def test_a_database_brought_back_without_its_photos_asks_for_them_again(cabinet, engine, neighbours: Neighbours):
    who = neighbours.owner.who
    send(cabinet, who, LARGE)
    shutil.rmtree(cabinet.shelf.folder)
    assert arrival(cabinet, who, LARGE) == photos.Arrival(False, 0)
    with pytest.raises(access.NotFound, match="still be on the device"), reading(engine) as db:
        photos.file_of(db, cabinet.shelf, who, name_of(LARGE), small=True)
    assert send(cabinet, who, LARGE).kept and arrival(cabinet, who, LARGE).kept


def test_files_and_folders_are_for_the_servers_user_alone(cabinet, neighbours: Neighbours):
    send(cabinet, neighbours.owner.who, LARGE)
    photos.take_piece(cabinet, neighbours.owner.who, piece_of(a_photo(), 0, 100), START)
    modes = {
        path: stat.S_IMODE(path.stat().st_mode) for path in [cabinet.shelf.folder, *cabinet.shelf.folder.rglob("*")]
    }
    assert len(modes) == 5
    assert all(mode == (0o700 if path.is_dir() else 0o600) for path, mode in modes.items())


def test_a_household_has_its_share_and_is_told_of_what_is_left(cabinet, neighbours: Neighbours):
    who, small = neighbours.owner.who, a_photo()
    tight = replace(cabinet, limit_bytes=len(LARGE) + len(small))
    assert room(tight, who) == photos.Room(0, tight.limit_bytes, tight.limit_bytes)
    photos.take_piece(tight, who, piece_of(LARGE, 0, 100), START)
    assert room(tight, who).used_bytes == len(LARGE)
    assert room(tight, neighbours.stranger.who).used_bytes == 0
    photos.take_piece(tight, who, piece_of(small, 0, 100), START)
    other = saved(drawn(300, 300))
    with pytest.raises(photos.NoRoom, match="filled their .* MB on the server"):
        photos.take_piece(tight, who, piece_of(other), START)
    # What has been promised its room is taken to its end.
    assert send(tight, who, small).kept and send(tight, neighbours.stranger.who, other).kept


def test_a_nearly_full_disk_is_told_of_and_takes_nothing(cabinet, engine, neighbours: Neighbours, monkeypatch):
    who = neighbours.owner.who
    photos.take_piece(cabinet, who, piece_of(LARGE, 0, 100), START)
    usage = shutil.disk_usage(cabinet.shelf.folder)
    monkeypatch.setattr(shutil, "disk_usage", lambda _: usage._replace(free=shelves.SPARE_BYTES + 50))
    assert room(cabinet, who).free_bytes == 50
    for piece in (piece_of(LARGE, 100, 100), piece_of(a_photo(), 0, 10)):
        with pytest.raises(photos.NoRoom, match="disk is nearly full"):
            photos.take_piece(cabinet, who, piece, START)
    monkeypatch.undo()
    assert send(cabinet, who, LARGE).kept


@pytest.mark.parametrize(
    ("number", "error", "words"),
    [
        (errno.ENOSPC, photos.NoRoom, "nearly full"),
        (errno.EDQUOT, photos.NoRoom, "nearly full"),
        (errno.EROFS, photos.CannotKeep, "Read-only"),
    ],
)
def test_a_disk_that_refuses_is_told_of_and_nothing_half_written_stays(
    cabinet, engine, neighbours: Neighbours, monkeypatch, number, error, words
):
    who, written = neighbours.owner.who, []

    def write(file: int, data: bytes, offset: int) -> int:
        written.append(data)
        # The piece is taken; the picture drawn from it is not.
        if len(written) > 1:
            raise OSError(number, os.strerror(number))
        return real(file, data, offset)

    real = os.pwrite
    monkeypatch.setattr(os, "pwrite", write)
    with pytest.raises(error, match=words):
        photos.take_piece(cabinet, who, piece_of(LARGE), START)
    monkeypatch.undo()
    assert files(cabinet) == {f"{name_of(LARGE)}.part"} and rows(engine, photo) == []
    assert arrival(cabinet, who, LARGE).had == len(LARGE)
    assert photos.take_piece(cabinet, who, piece_of(LARGE, len(LARGE)), START).kept


def test_a_folder_that_cannot_be_made_is_told_of(engine, neighbours: Neighbours, tmp_path: Path):
    (tmp_path / "in the way").write_text("a file")
    cabinet = photos.Cabinet(engine, photos.Shelf(tmp_path / "in the way" / "photos"), 10**9)
    with pytest.raises(photos.CannotKeep, match="cannot write to its folder of photos"):
        photos.take_piece(cabinet, neighbours.owner.who, piece_of(LARGE), START)


def test_a_person_removed_meanwhile_sends_nothing_more(cabinet, engine, neighbours: Neighbours):
    who = neighbours.helper.who
    photos.take_piece(cabinet, who, piece_of(LARGE, 0, 100), START)
    with writing(engine) as db:
        access.remove_person(db, neighbours.owner.who, who.person_id, START)
    with pytest.raises(access.SignedOut):
        photos.take_piece(cabinet, who, piece_of(LARGE, 100), START)
    with pytest.raises(access.SignedOut):
        photos.take_piece(cabinet, who, piece_of(a_photo()), START)
    assert rows(engine, photo) == []


def test_what_nobody_goes_on_with_is_given_up_after_a_week(cabinet, engine, neighbours: Neighbours):
    who, now = neighbours.owner.who, START
    photos.take_piece(cabinet, who, piece_of(LARGE, 0, 100), now)
    photos.take_piece(cabinet, who, piece_of(a_photo(), 0, 100), now + timedelta(days=3))
    assert photos.clear_unfinished(engine, cabinet.shelf, now + timedelta(days=7)) == 0
    assert photos.clear_unfinished(engine, cabinet.shelf, now + timedelta(days=7, seconds=1)) == 1
    assert files(cabinet) == {f"{name_of(a_photo())}.part"}
    assert send(cabinet, who, LARGE).kept
    assert photos.clear_unfinished(engine, cabinet.shelf, now + timedelta(days=400)) == 1
    assert files(cabinet) == {f"{name_of(LARGE)}.jpg", f"{name_of(LARGE)}.small.jpg"}


def test_what_a_killed_server_left_half_written_is_deleted_after_a_week(cabinet, neighbours: Neighbours):
    send(cabinet, neighbours.owner.who, LARGE)
    photos.take_piece(cabinet, neighbours.owner.who, piece_of(a_photo(), 0, 100), START)
    kept = files(cabinet)
    folder = cabinet.shelf.folder / neighbours.owner.who.household_id
    for name in (f"{'0' * 64}.part", f"{'1' * 64}.jpg.0123.new"):
        (folder / name).write_bytes(b"half")
        os.utime(folder / name, times=(START.timestamp(), START.timestamp()))
    for path in folder.glob("*.jpg"):
        os.utime(path, times=(0, 0))
    later = (START + timedelta(days=1)).timestamp()
    os.utime(cabinet.shelf.part(folder.name, name_of(a_photo())), times=(later, later))
    assert photos.clear_leftovers(cabinet.shelf, START + timedelta(days=7)) == 0
    assert photos.clear_leftovers(cabinet.shelf, START + timedelta(days=7, seconds=1)) == 2
    assert files(cabinet) == kept
