"""Where photos lie and how many there may be, as the operator sets it."""

from __future__ import annotations

from pathlib import Path

import pytest

from holdwatch.config import BadSetting, load_settings, photos_folder


def test_photos_lie_beside_the_database_where_nothing_is_said(tmp_path: Path):
    settings = load_settings({"HOLDWATCH_DATABASE": f"sqlite:///{tmp_path / 'house.sqlite3'}"})
    assert settings.photos_folder is None and settings.photos_limit_bytes == 5_000_000_000
    beside = photos_folder(settings.photos_folder, str(tmp_path / "house.sqlite3"))
    assert beside == tmp_path / "house.sqlite3-photos"


def test_another_folder_and_another_limit_may_be_named(tmp_path: Path):
    settings = load_settings({"HOLDWATCH_PHOTOS": str(tmp_path / "album"), "HOLDWATCH_PHOTOS_MEGABYTES": "250"})
    assert photos_folder(settings.photos_folder, "house.sqlite3") == tmp_path / "album"
    assert settings.photos_limit_bytes == 250_000_000


def test_photos_of_a_database_elsewhere_lie_in_the_users_data_folder(tmp_path: Path):
    environ = {"HOLDWATCH_DATABASE": "postgresql://host/name", "XDG_DATA_HOME": str(tmp_path)}
    assert load_settings(environ).photos_folder == tmp_path / "holdwatch" / "photos"
    with pytest.raises(BadSetting, match="HOLDWATCH_PHOTOS must name a folder"):
        photos_folder(None, None)


@pytest.mark.parametrize("limit", ["", "-1", "1.5", "much", "9" * 20])
def test_a_limit_that_is_no_number_is_refused(limit: str):
    with pytest.raises(BadSetting, match="HOLDWATCH_PHOTOS_MEGABYTES must be a number"):
        load_settings({"HOLDWATCH_PHOTOS_MEGABYTES": limit})


def test_a_file_in_the_place_of_the_folder_is_refused(tmp_path: Path):
    (tmp_path / "album").write_text("a file")
    with pytest.raises(BadSetting, match="which is no folder"):
        load_settings({"HOLDWATCH_PHOTOS": str(tmp_path / "album")})
