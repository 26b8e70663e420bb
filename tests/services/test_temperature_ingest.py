"""What sensors send: judged reading by reading, by the token's tank, its time and its share of a minute."""

from __future__ import annotations

from datetime import timedelta

import pytest
import sqlalchemy as sa

from holdwatch.records.instants import instant_text, milliseconds
from holdwatch.services.access import NotAllowed, NotFound
from holdwatch.services.temperature import (
    TooManyRequests,
    UnknownToken,
    make_token,
    revoke_token,
    sensor_of,
    take_readings,
    tokens_of,
)
from holdwatch.store import tables
from holdwatch.store.database import reading, writing
from people import Clock
from services.notebook import Notebook


@pytest.fixture
def tank(notebook: Notebook, clock: Clock) -> str:
    return notebook.write("tank", clock.now(), name="Hall", zone="Europe/Copenhagen")


@pytest.fixture
def token(engine, neighbours, clock, tank) -> str:
    with writing(engine) as db:
        return str(make_token(db, neighbours.owner.who, tank, "probe", clock.now()))


def send(engine, token, *sent, now) -> list[tuple[str, str | None]]:
    with writing(engine) as db:
        found = take_readings(db, sensor_of(db, token), sent, now)
    return [(one.verdict, one.reason) for one in found]


def one(at, celsius=26.1, **more):
    return {"at": at if isinstance(at, str) else instant_text(at), "temperature_c": celsius, **more}


def rows(engine, table):
    """All of them, by their primary key: no database owes any order of its own."""
    with reading(engine) as db:
        return db.execute(sa.select(table).order_by(*table.primary_key)).all()


def test_each_reading_has_its_own_verdict(engine, clock, token):
    now = clock.now()
    sent = [
        one(now), one(now), one(now, 26.2), one(now, 26.2, sensor="sump"), one(now, 26), one(now, 85), one("yesterday"),
        one("2026-11-25T20:10:00"), one(now, "26.1"), one(now, True), one(now, None), {"temperature_c": 26.1},
        {"at": instant_text(now)}, "26.1", None, [], one(now, 26.1, unit="C"), one(now, 26.1, sensor=7),
        one(now, 26.1, sensor=" "), one(now, 26.1, sensor="x" * 81), one(now, 26.1, sensor="a\nb"),
        one(now, 10**400), one(now, 26.1, sensor=None),
    ]  # fmt: skip
    found = send(engine, token, *sent, now=now)
    assert [verdict for verdict, _ in found] == ["taken", "known", "refused", "taken"] + ["refused"] * 18 + ["known"]
    for verdict, reason in found:
        assert (reason is None) == (verdict != "refused")
        assert reason is None or reason.endswith(".")
    kept = rows(engine, tables.temperature_reading)
    assert sorted(row.millidegrees for row in kept) == [26100, 26200]
    assert sorted(row.name for row in rows(engine, tables.thermometer)) == ["probe", "sump"]


@pytest.mark.parametrize(
    ("ahead", "verdict"),
    [
        (timedelta(minutes=5), "taken"), (timedelta(minutes=5, milliseconds=1), "refused"),
        (timedelta(hours=-48), "taken"), (timedelta(hours=-48, milliseconds=-1), "refused"),
    ],
)  # fmt: skip
def test_instants_lie_within_two_days_back_and_five_minutes_ahead(engine, clock, token, ahead, verdict):
    assert send(engine, token, one(clock.now() + ahead), now=clock.now())[0][0] == verdict


def test_a_bad_reading_holds_up_no_other(engine, clock, token):
    now = clock.now()
    sent = [one(now - timedelta(minutes=n), 26.1 if n % 2 else 99) for n in range(20)]
    assert [verdict for verdict, _ in send(engine, token, *sent, now=now)] == ["refused", "taken"] * 10
    assert len(rows(engine, tables.temperature_reading)) == 10


def test_sixty_requests_a_minute_and_no_more(engine, clock, token):
    for _ in range(60):
        clock.move(milliseconds=100)
        send(engine, token, one(clock.now()), now=clock.now())
    kept = len(rows(engine, tables.temperature_reading))
    clock.move(seconds=10.4)
    with pytest.raises(TooManyRequests) as refused:
        send(engine, token, one(clock.now()), now=clock.now())
    # The minute began with the first request: 5.9 s and 10.4 s of it are over.
    assert refused.value.wait_seconds == 44 and "60 requests" in str(refused.value)
    assert len(rows(engine, tables.temperature_reading)) == kept == 60
    clock.move(seconds=43)
    with pytest.raises(TooManyRequests):
        send(engine, token, now=clock.now())
    clock.move(seconds=1)
    assert send(engine, token, one(clock.now()), now=clock.now()) == [("taken", None)]


def test_each_token_has_a_minute_of_its_own(engine, neighbours, clock, token, tank):
    with writing(engine) as db:
        other = str(make_token(db, neighbours.owner.who, tank, "other", clock.now()))
    for _ in range(60):
        send(engine, token, now=clock.now())
    assert send(engine, other, one(clock.now()), now=clock.now()) == [("taken", None)]


def test_a_clock_that_is_set_back_blocks_nobody(engine, clock, token):
    for _ in range(60):
        send(engine, token, now=clock.now())
    clock.move(hours=-3)
    assert send(engine, token, one(clock.now()), now=clock.now()) == [("taken", None)]


def test_a_token_is_kept_as_a_hash_and_its_use_is_noted(engine, neighbours, clock, token, tank):
    (row,) = rows(engine, tables.reading_token)
    assert token.rsplit(".", 1)[1] not in str(row) and row.used_at is None
    clock.move(minutes=5)
    send(engine, token, now=clock.now())
    with reading(engine) as db:
        (shown,) = tokens_of(db, neighbours.keeper.who, tank)
    assert (shown.name, shown.used_at) == ("probe", milliseconds(clock.now()))


def test_a_revoked_token_writes_no_more_and_what_it_wrote_stays(engine, neighbours, clock, token, tank):
    send(engine, token, one(clock.now()), now=clock.now())
    with writing(engine) as db:
        token_id = token.split(".")[1]
        revoke_token(db, neighbours.keeper.who, token_id, clock.now())
        with pytest.raises(NotFound):
            revoke_token(db, neighbours.owner.who, token_id, clock.now())
        assert tokens_of(db, neighbours.owner.who, tank) == []
        with pytest.raises(UnknownToken):
            sensor_of(db, token)
    with pytest.raises(UnknownToken):
        send(engine, token, one(clock.now()), now=clock.now())
    assert len(rows(engine, tables.temperature_reading)) == 1


def test_a_token_is_none_when_any_part_of_it_is_wrong(engine, neighbours, clock, token):
    household, own, secret = token.split(".")
    other = neighbours.stranger.who.household_id
    parts = ((other, own, secret), (household, household, secret), (household, own, "A" * 43))
    for wrong in ("", "x", *map(".".join, parts)):
        with reading(engine) as db, pytest.raises(UnknownToken):
            sensor_of(db, wrong)


def test_who_may_make_and_revoke_tokens(engine, neighbours, clock, token, tank):
    with writing(engine) as db:
        for refused, who in ((NotAllowed, neighbours.helper.who), (NotFound, neighbours.stranger.who)):
            with pytest.raises(refused):
                make_token(db, who, tank, "probe", clock.now())
            with pytest.raises(refused):
                tokens_of(db, who, tank)
            with pytest.raises(refused):
                revoke_token(db, who, token.split(".")[1], clock.now())
        # Of two made in the same millisecond nobody could say which is the older.
        clock.move(minutes=1)
        make_token(db, neighbours.keeper.who, tank, "second", clock.now())
        assert [row.name for row in tokens_of(db, neighbours.owner.who, tank)] == ["probe", "second"]
