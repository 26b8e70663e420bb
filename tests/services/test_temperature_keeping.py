"""Readings in the database: each kept once, hours that are the same however the readings came in."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
import sqlalchemy as sa

from holdwatch.domain.temperature import HOUR_MS, hourly, spikes
from holdwatch.services.access import NotUsable
from holdwatch.services.temperature.hours import read_hours
from holdwatch.services.temperature.keeping import KNOWN, MOST_THERMOMETERS, NEW, OTHER, keep_readings
from holdwatch.store import tables
from holdwatch.store.database import reading, writing
from people import Neighbours

TANK = "0198a1b2-0000-7000-8000-00000000aaaa"
MINUTE = 60_000
START = round(datetime(2026, 11, 1, tzinfo=UTC).timestamp() * 1000)


@pytest.fixture
def home(neighbours: Neighbours) -> str:
    return neighbours.owner.who.household_id


def keep(engine, home, readings, name="hall", tank=TANK) -> list[int]:
    at_ms, values = (np.array(column, dtype=np.int64) for column in zip(*readings, strict=True))
    with writing(engine) as db:
        return keep_readings(db, home, tank, name, at_ms, values).tolist()


def hours(engine, home, tank=TANK):
    with reading(engine) as db:
        return read_hours(db, home, tank, 0)


def raw(engine) -> list[tuple[int, int, int]]:
    table = tables.temperature_reading.c
    with reading(engine) as db:
        return sorted(tuple(row) for row in db.execute(sa.select(table.thermometer, table.at, table.millidegrees)))


def month(seed: int = 5) -> list[tuple[int, int]]:
    """Eight days of readings every few minutes with pauses, spikes and a probe in the air."""
    rng = np.random.default_rng(seed)
    at = START + np.cumsum(rng.integers(1, 12, 2000)) * MINUTE
    at[1200:] += 30 * 60 * MINUTE
    value = 26000 + (300 * np.sin(at / 86_400_000 * 2 * np.pi)).astype(int) // 62 * 62
    value[rng.random(at.size) < 0.01] += 4000
    value[700:710] = 21000
    return list(zip(at.tolist(), value.tolist(), strict=True))


def test_a_reading_is_kept_once_and_the_first_value_stays(engine, home):
    assert keep(engine, home, [(START, 26000), (START + MINUTE, 26100)]) == [NEW, NEW]
    again = [(START, 26000), (START + MINUTE, 26200), (START + 2 * MINUTE, 26200)]
    assert keep(engine, home, again) == [KNOWN, OTHER, NEW]
    assert keep(engine, home, [(START + 5, 1), (START + 5, 1), (START + 5, 2)]) == [NEW, KNOWN, OTHER]
    assert [value for _, _, value in raw(engine)] == [26000, 1, 26100, 26200]


def test_thermometers_tanks_and_households_have_instants_of_their_own(engine, home, neighbours):
    other = neighbours.stranger.who.household_id
    places = ((home, TANK, "hall"), (home, TANK, "sump"), (home, "b", "hall"), (other, TANK, "hall"))
    for household, tank, name in places:
        assert keep(engine, household, [(START, 26000)], name, tank) == [NEW]
    assert list(hours(engine, home)) == ["hall", "sump"] and list(hours(engine, other)) == ["hall"]


def test_what_a_thermometer_has_is_counted(engine, home):
    keep(engine, home, [(START + 9 * MINUTE, 26900), (START, 26000)])
    keep(engine, home, [(START + 3 * MINUTE, 26300), (START, 26000)])
    keep(engine, home, [(START - MINUTE, 25900)])
    with reading(engine) as db:
        row = db.execute(sa.select(tables.thermometer)).one()
    assert (row.readings, row.last_millidegrees) == (4, 26900)
    assert (row.first_at, row.last_at) == (START - MINUTE, START + 9 * MINUTE)


@pytest.mark.parametrize("pieces", [1, 2, 7, 40])
@pytest.mark.parametrize("order", ["as they came", "backwards", "shuffled"])
def test_hours_are_those_of_all_readings_at_once_however_they_came_in(engine, home, pieces, order):
    readings = month()
    shuffled = np.random.default_rng(1).permutation(readings)
    sent = {"as they came": np.array(readings), "backwards": np.array(readings[::-1]), "shuffled": shuffled}[order]
    for piece in np.array_split(sent, pieces):
        assert set(keep(engine, home, piece)) == {NEW}
    at_ms, celsius = (np.array(column) for column in zip(*readings, strict=True))
    celsius = celsius / 1000
    is_spike = spikes(at_ms, celsius)
    assert is_spike.sum() > 20
    expected = hourly(at_ms, celsius, is_spike)
    found = hours(engine, home)["hall"]
    assert [hour.number for hour in found] == [hour.number for hour in expected]
    for mine, theirs in zip(found, expected, strict=True):
        for part, whole in ((mine.passed, theirs.passed), (mine.spikes, theirs.spikes)):
            assert (part is None) == (whole is None)
            if part and whole:
                assert part.mean_c == pytest.approx(whole.mean_c, abs=0.0005001)
                assert replace(part, mean_c=0) == replace(whole, mean_c=0)


def test_one_reading_at_a_time_is_the_same_as_all_at_once(engine, home):
    readings = month()[680:760]
    for one in readings:
        keep(engine, home, [one])
    before = hours(engine, home)["hall"]
    assert any(hour.spikes for hour in before)
    keep(engine, home, readings, "again")
    assert hours(engine, home)["again"] == before


def test_hours_that_do_not_change_are_not_written(engine, home):
    keep(engine, home, month()[:300])
    written = []

    @sa.event.listens_for(engine, "before_execute")
    def _note(db, statement, many, one, options):
        # As it was asked for: what a driver makes of it is another matter on each database.
        if isinstance(statement, sa.Insert) and statement.table is tables.temperature_hour:
            written.extend(row["hour"] for row in many or [one])

    after = month()[299][0] + MINUTE
    keep(engine, home, [(after, 26000)])
    assert len(written) <= 2 and after // HOUR_MS in written


def test_a_tank_has_only_so_many_thermometers(engine, home):
    for number in range(MOST_THERMOMETERS):
        keep(engine, home, [(START, 26000)], f"probe {number}")
    with pytest.raises(NotUsable):
        keep(engine, home, [(START, 26000)], "one more")
    assert keep(engine, home, [(START + 1, 26000)], "probe 0") == [NEW]
    assert keep(engine, home, [(START, 26000)], "one more", "another tank") == [NEW]


def test_nothing_to_keep_makes_no_thermometer(engine, home):
    with writing(engine) as db:
        nothing = np.zeros(0, dtype=np.int64)
        assert keep_readings(db, home, TANK, "hall", nothing, nothing).size == 0
    assert hours(engine, home) == {}
