"""Files of readings, piece by piece: what is taken, what is there already, and what is wrong with the rest."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
import sqlalchemy as sa

from holdwatch.services.access import NotAllowed, NotFound, NotUsable
from holdwatch.services.temperature import Choices, Form, Spot, aim_at, keep_piece, parse_piece, understand
from holdwatch.services.temperature.importing import MOST_WRONG
from holdwatch.store import tables
from holdwatch.store.database import reading, writing
from people import Clock, Neighbours
from services.notebook import Notebook

ZONE = "Europe/Copenhagen"
START = datetime(2026, 11, 1, tzinfo=UTC)


@pytest.fixture
def tank(notebook: Notebook, clock: Clock) -> str:
    return notebook.write("tank", clock.now(), name="Hall", zone=ZONE)


def take(engine, who, tank, data, now, piece=1 << 18, form=None, name="hall", **chosen):
    """Import a file in pieces of that many bytes; the answers."""
    data = data.encode() if isinstance(data, str) else data
    form = form or understand(data, True, Choices(unit="C", **chosen)).form
    spot, answers = Spot(), []
    while not answers or spot.offset < len(data):
        part = data[spot.offset : spot.offset + piece]
        is_last = spot.offset + len(part) >= len(data)
        found, after = parse_piece(part, form, spot, is_last, ZONE, now)
        with writing(engine) as db:
            answers.append(keep_piece(db, aim_at(db, who, tank, name), found, after, is_last, now))
        spot = after
    return answers


def kept(engine) -> list[tuple[int, int]]:
    table = tables.temperature_reading.c
    with reading(engine) as db:
        return [tuple(row) for row in db.execute(sa.select(table.at, table.millidegrees).order_by(table.at))]


def table_of(count: int, minutes: int = 10) -> str:
    times = (START + timedelta(minutes=minutes * n) for n in range(count))
    lines = (f"{at:%d.%m.%Y %H:%M};26,{n % 7}\n" for n, at in enumerate(times))
    return "Zeit;Becken °C\n" + "".join(lines)


def totals(answers) -> tuple[int, int, int]:
    return tuple(sum(getattr(answer, what) for answer in answers) for what in ("taken", "known", "wrong_count"))


@pytest.mark.parametrize("piece", [64, 1000, 1 << 18])
def test_a_file_is_taken_whole_in_pieces_of_any_size(engine, neighbours, clock, tank, piece):
    text = table_of(1000)
    answers = take(engine, neighbours.owner.who, tank, text, clock.now(), piece, order="dmy")
    assert totals(answers) == (1000, 0, 0)
    found = kept(engine)
    # Clocks stand an hour ahead of UTC there in November.
    assert found[0] == (round((START - timedelta(hours=1)).timestamp() * 1000), 26000)
    assert [value for _, value in found] == [26000 + n % 7 * 100 for n in range(1000)]
    assert answers[-1].spot.line == 1002 and answers[-1].spot.offset == len(text.encode())


def test_to_import_again_is_harmless(engine, neighbours, clock, tank):
    who, now = neighbours.owner.who, clock.now()
    assert totals(take(engine, who, tank, table_of(300), now, order="dmy")) == (300, 0, 0)
    before = kept(engine)
    assert totals(take(engine, who, tank, table_of(300), now, order="dmy")) == (0, 300, 0)
    assert totals(take(engine, who, tank, table_of(310), now, 500, order="dmy")) == (10, 300, 0)
    assert kept(engine)[:300] == before


def test_wrong_lines_are_named_with_their_reason_and_the_rest_is_taken(engine, neighbours, clock, tank):
    text = "\n".join([
        "time,water", "2026-11-20T20:10Z,26.1", "2026-11-20T20:20Z,85", "2026-11-20T20:30Z,", "2026-11-20T20:40Z",
        "at noon,26.2", "2026-11-20T20:50Z,26.3,and more", '2026-11-20T21:00Z,"26,4"', "2026-12-24T20:10Z,26.1",
        "1969-12-31T20:10Z,26.1", "2026-11-20T20:10Z,26.1", "2026-11-20T20:10Z,26.9", "", "2026-11-20T21:10Z,79 °F",
    ])  # fmt: skip
    (answer,) = take(engine, neighbours.owner.who, tank, text, clock.now())
    assert (answer.taken, answer.known, answer.wrong_count) == (3, 1, 8)
    assert [(wrong.line, wrong.why) for wrong in answer.wrong] == [
        (3, "85 °C is outside \u22125 to 45 °C"), (4, "no temperature"), (5, "there are too few columns"),
        (6, "'at noon' is no date and time"), (9, "this lies in the future"), (10, "this lies before 1970"),
        (12, "another value is kept for this instant; the first one stays"),
        (14, "it says F, and the column is read as C"),
    ]  # fmt: skip
    assert answer.wrong[0].text == "2026-11-20T20:20Z | 85"
    assert [value for _, value in kept(engine)] == [26100, 26300, 26400]


def test_of_many_wrong_lines_the_first_are_named_and_all_are_counted(engine, neighbours, clock, tank):
    form = Form("utf-8", ",", False, (0,), 1, "C", None)
    text = "2026-11-20T20:10Z,26.1\n" + "x,y\n" * 1000
    (answer,) = take(engine, neighbours.owner.who, tank, text, clock.now(), form=form)
    assert (answer.taken, answer.wrong_count, len(answer.wrong)) == (1, 1000, MOST_WRONG)


def test_the_hour_that_comes_twice_is_told_of_and_kept_twice(engine, neighbours, clock, tank):
    true = [datetime(2026, 10, 24, 22, tzinfo=UTC) + timedelta(minutes=20 * n) for n in range(24)]
    wall = [at.astimezone(ZoneInfo(ZONE)) for at in true]
    text = "".join(f"{at:%Y-%m-%d %H:%M},26.{n % 10}\n" for n, at in enumerate(wall))
    for piece in (1 << 18, 100):
        answers = take(engine, neighbours.owner.who, tank, text, clock.now(), piece, name=f"by {piece}")
        assert sum(answer.repeated for answer in answers) == 6 and totals(answers) == (24, 0, 0)
        with reading(engine) as db:
            row = db.execute(sa.select(tables.thermometer).filter_by(name=f"by {piece}")).one()
        assert (row.first_at, row.last_at) == (round(true[0].timestamp() * 1000), round(true[-1].timestamp() * 1000))


def test_times_that_the_clock_skips_and_dates_alone_are_counted(engine, neighbours, clock, tank):
    (answer,) = take(engine, neighbours.owner.who, tank, "2026-03-29 02:30,26.1\n2026-03-30,26.2\n", clock.now())
    assert (answer.taken, answer.skipped, answer.noons) == (2, 1, 1)
    assert kept(engine)[1][0] == round(datetime(2026, 3, 30, 10, tzinfo=UTC).timestamp() * 1000)


def test_the_names_of_columns_are_left_out_once_and_not_of_every_piece(engine, neighbours, clock, tank):
    text = "time,water\n" + "".join(f"2026-11-20T{n // 60:02}:{n % 60:02}Z,26.1\n" for n in range(600))
    answers = take(engine, neighbours.owner.who, tank, text, clock.now(), 200)
    assert len(answers) > 50 and totals(answers) == (600, 0, 0)


def test_an_open_order_takes_nothing_rather_than_guess(engine, neighbours, clock, tank):
    form = Form("utf-8", ",", False, (0,), 1, "C", None)
    (answer,) = take(engine, neighbours.owner.who, tank, "03/11/2026 20:10,26.1\n", clock.now(), form=form)
    assert (answer.taken, answer.wrong[0].why) == (0, "'03/11/2026 20:10' may be read in more than one way")


def test_who_may_import_and_for_which_tank(engine, neighbours: Neighbours, notebook, clock, tank):
    with writing(engine) as db:
        aim_at(db, neighbours.keeper.who, tank, "hall")
        with pytest.raises(NotAllowed):
            aim_at(db, neighbours.helper.who, tank, "hall")
        with pytest.raises(NotFound):
            aim_at(db, neighbours.stranger.who, tank, "hall")
        with pytest.raises(NotFound):
            aim_at(db, neighbours.owner.who, notebook.who.person_id, "hall")
    male = notebook.write("fish", clock.now(), about=tank, name="Quill")
    notebook.edit(tank, clock.now(), gone=True)
    with writing(engine) as db:
        with pytest.raises(NotFound):
            aim_at(db, neighbours.owner.who, male, "hall")
        with pytest.raises(NotUsable):
            aim_at(db, neighbours.owner.who, tank, "hall")
