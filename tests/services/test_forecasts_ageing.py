"""Forecasts grow old: at each change of the lamps, and one that could not be made after some hours."""

from __future__ import annotations

from datetime import timedelta

import pytest
import sqlalchemy as sa

from holdwatch.config import load_profiles
from holdwatch.records.instants import parse_instant
from holdwatch.services.forecasts import ask_for_aged, issue_asked, issuing
from holdwatch.services.forecasts.ageing import TRIED_AGAIN_AFTER
from holdwatch.store import tables
from holdwatch.store.database import reading
from people import Clock
from services.notebook import Notebook, asked, hold

PROFILES = load_profiles()


def test_lamps_that_change_ask_for_every_brood_under_way_and_for_no_other(
    engine: sa.Engine, notebook: Notebook, clock: Clock
):
    brood = hold(notebook, clock.now())
    over = notebook.write("brood", clock.now(), about=notebook.male(clock.now()), ended="lost")
    issue_asked(engine, PROFILES, clock.now())
    # 21:10 in Copenhagen; the lamps go out at 21:30.
    assert ask_for_aged(engine, clock.move(minutes=19)) == 0
    assert ask_for_aged(engine, clock.move(minutes=2)) == 1
    assert asked(engine) == {brood} != {over}
    issue_asked(engine, PROFILES, clock.now())
    assert ask_for_aged(engine, clock.move(hours=10)) == 0
    # 08:31: the lamps came on a minute ago.
    assert ask_for_aged(engine, clock.move(hours=1)) == 1


def revision(engine: sa.Engine) -> int:
    """The greatest revision of the household that writes."""
    with reading(engine) as db:
        return db.scalar(sa.select(sa.func.max(tables.derived.c.revision)).where(tables.derived.c.kind == "forecast"))


def test_a_forecast_that_could_not_be_made_is_tried_again_after_some_hours(
    engine: sa.Engine, notebook: Notebook, clock: Clock, monkeypatch: pytest.MonkeyPatch
):
    brood = hold(notebook, clock.now())
    with monkeypatch.context() as broken:
        broken.setattr(issuing, "forecast_body", lambda *_: 1 / 0)
        issue_asked(engine, PROFILES, clock.now())
    assert "could not be worked out" in notebook.derived("forecast", brood)["error"]
    assert ask_for_aged(engine, clock.move(minutes=5)) == 0
    assert ask_for_aged(engine, clock.now() + TRIED_AGAIN_AFTER) == 1
    issue_asked(engine, PROFILES, clock.now() + TRIED_AGAIN_AFTER)
    assert notebook.derived("forecast", brood)["catch"]


def test_an_error_that_is_still_the_same_is_not_sent_down_again(engine: sa.Engine, notebook: Notebook, clock: Clock):
    brood = notebook.write("brood", clock.now(), about=notebook.male(clock.now(), lamps_out=None))
    issue_asked(engine, PROFILES, clock.now())
    before = revision(engine)
    assert ask_for_aged(engine, clock.move(days=1)) == 1
    issue_asked(engine, PROFILES, clock.now())
    assert notebook.derived("forecast", brood)["error"].startswith("His tank lacks a time at which its lamps go out.")
    assert revision(engine) == before and asked(engine) == set()
    assert ask_for_aged(engine, clock.move(days=1)) == 1


def test_a_brood_that_was_asked_for_by_its_age_is_not_asked_for_again_until_it_was_made(
    engine: sa.Engine, notebook: Notebook, clock: Clock
):
    brood = hold(notebook, clock.now())
    issue_asked(engine, PROFILES, clock.now())
    later = clock.move(hours=1)
    assert [ask_for_aged(engine, later) for _ in range(3)] == [1, 0, 0]
    assert asked(engine) == {brood}


def test_many_that_age_at_once_are_asked_for_in_one_round(engine: sa.Engine, notebook: Notebook, clock: Clock):
    broods = {hold(notebook, clock.move(seconds=1)) for _ in range(3)}
    issue_asked(engine, PROFILES, clock.now())
    assert ask_for_aged(engine, clock.move(hours=1), at_once=2) == 3
    assert asked(engine) == broods


@pytest.mark.parametrize(
    "at, lamps_out, expected",
    [
        # Copenhagen's clocks went back on 2026-10-25: 02:30 came twice, and the first of the two counts.
        ("2026-10-24T20:00:00Z", "02:30", "2026-10-25T00:30:00Z"),
        ("2026-10-25T00:50:00Z", "02:30", "2026-10-26T01:30:00Z"),
        # They went forward on 2027-03-28: 02:30 did not exist, and the offset before the change counts.
        ("2027-03-27T20:00:00Z", "02:30", "2027-03-28T01:30:00Z"),
    ],
)
def test_the_next_change_of_the_lamps_is_found_across_changes_of_the_clock(
    engine: sa.Engine, notebook: Notebook, at: str, lamps_out: str, expected: str
):
    now = parse_instant(at)
    male = notebook.male(now, lamps_out=lamps_out, lamps_on="02:45")
    notebook.write("brood", now, about=male, not_before=now - timedelta(days=3))
    issue_asked(engine, PROFILES, now)
    just = parse_instant(expected)
    assert ask_for_aged(engine, just - timedelta(milliseconds=1)) == 0
    assert ask_for_aged(engine, just) == 1
