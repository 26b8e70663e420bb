"""The server is killed while phones push to PostgreSQL: every change that it said to have taken is there."""

import pytest

from sync.test_killed_server import (  # noqa: F401
    household,
    test_a_question_or_an_answer_that_is_cut_at_any_byte_does_no_harm,
    test_what_was_taken_outlives_a_server_that_is_killed_and_what_was_not_answered_is_sent_again,
)


@pytest.fixture(autouse=True)
def photos(tmp_path, monkeypatch):
    """A folder for photos: this database is no file that they could lie beside."""
    monkeypatch.setenv("HOLDWATCH_PHOTOS", str(tmp_path / "photos"))
