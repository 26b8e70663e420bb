"""Whose calendar an address opens, what is in it, and when it opens nothing."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest
import sqlalchemy as sa

from holdwatch.channels.calendar import Entry
from holdwatch.domain.duties import Duty
from holdwatch.records.instants import milliseconds
from holdwatch.services import access, duties
from holdwatch.services.access import Who, end_everything
from holdwatch.services.access.tokens import digest, parse_token
from holdwatch.services.duties.kept import Kept, read_kept, renewed, withdraw, write_kept
from holdwatch.store.database import reading, writing
from holdwatch.store.tables import calendar_feed
from people import Clock, Neighbours
from services.notebook import Notebook, hold

ABSENT = "018f6d2a-7c3e-7000-8000-0123456789ab"


def give(engine: sa.Engine, who: Who, now: datetime, names: bool = False) -> str:
    """A new address for this person's calendar."""
    with writing(engine) as db:
        return str(duties.new_feed(db, who, names, now))


def shown(engine: sa.Engine, token: str, now: datetime) -> list[Entry] | None:
    with reading(engine) as db:
        return duties.read_feed(db, token, now)


def keys(engine: sa.Engine, token: str, now: datetime) -> list[str]:
    return [entry.duty.key for entry in shown(engine, token, now) or ()]


def duty(due_at: datetime, key: str = "look:b1", **more) -> Duty:
    plain = Duty(key, "look_tonight", "b1", date(2026, 11, 25), due_at, due_at, due_at + timedelta(hours=10))
    return replace(plain, **more)


def keep(engine: sa.Engine, household_id: str, *wanted: Duty) -> None:
    with writing(engine) as db:
        write_kept(db, household_id, [Kept(one, 1, "Europe/Berlin") for one in wanted])


@pytest.fixture
def ilka(neighbours: Neighbours) -> Who:
    return neighbours.owner.who


@pytest.fixture
def joris(neighbours: Neighbours) -> Who:
    return neighbours.helper.who


def test_an_address_is_kept_as_a_hash_of_at_least_128_random_bits(engine: sa.Engine, ilka: Who, clock: Clock):
    tokens = [parse_token(give(engine, ilka, clock.now())) for _ in range(2)]
    # 43 characters of base64url are 256 bits (RFC 4648, section 5).
    assert len({token.secret for token in tokens}) == 2 and {len(token.secret) for token in tokens} == {43}
    with reading(engine) as db:
        (row,) = db.execute(sa.select(calendar_feed)).all()
    assert row.secret_hash == digest(tokens[1].secret) and tokens[1].secret not in str(row)
    assert (row.household_id, row.person_id, row.created_at) == (*_ids(ilka), milliseconds(clock.now()))


def _ids(who: Who) -> tuple[str, str]:
    return who.household_id, who.person_id


def test_a_renewed_address_opens_and_the_one_before_does_not(engine: sa.Engine, ilka: Who, joris: Who, clock: Clock):
    first, other = give(engine, ilka, clock.now()), give(engine, joris, clock.now())
    second = give(engine, ilka, clock.move(days=1), names=True)
    opened = [shown(engine, token, clock.now()) for token in (first, second, other)]
    assert opened == [None, [], []]
    with reading(engine) as db:
        assert duties.feed_of(db, ilka) == duties.Feed(clock.now(), True)


def test_an_ended_one_opens_nothing_and_the_others_go_on(engine: sa.Engine, ilka: Who, joris: Who, clock: Clock):
    mine, his = give(engine, ilka, clock.now()), give(engine, joris, clock.now())
    for _ in range(2):
        with writing(engine) as db:
            duties.end_feed(db, ilka)
            assert duties.feed_of(db, ilka) is None
    assert (shown(engine, mine, clock.now()), shown(engine, his, clock.now())) == (None, [])


def test_nothing_but_the_whole_address_opens_it(engine: sa.Engine, ilka: Who, joris: Who, clock: Clock):
    token, his = give(engine, ilka, clock.now()), give(engine, joris, clock.now())
    secret = token.rpartition(".")[2]
    wrong = [
        "", ".", "..", secret, token[:-1], f"{token}A", token.upper(), f"{token}\n", token[:-43] + "A" * 43,
        f"{ilka.household_id}.{joris.person_id}.{secret}", f"{ilka.household_id}.{ABSENT}.{secret}",
        f"{ABSENT}.{ilka.person_id}.{secret}", token[:-43] + his[-43:], token.replace(".", "/"), "🐟",
    ]  # fmt: skip
    assert [shown(engine, one, clock.now()) for one in wrong] == [None] * len(wrong)


def test_a_wrong_secret_and_an_absent_calendar_take_the_same_statements(
    engine: sa.Engine, ilka: Who, joris: Who, clock: Clock
):
    token = give(engine, ilka, clock.now())
    wrong, absent, formless = token[:-43] + "A" * 43, f"{joris.household_id}.{joris.person_id}.{'A' * 43}", "no address"
    assert len({tuple(asked(engine, one, clock.now())) for one in (wrong, absent, formless)}) == 1
    assert len(asked(engine, token, clock.now())) > len(asked(engine, wrong, clock.now()))


def asked(engine: sa.Engine, token: str, now: datetime) -> list[str]:
    """The statements that reading it takes."""
    said: list[str] = []

    def hear(_db, _cursor, statement, *_more):
        said.append(statement)

    sa.event.listen(engine, "before_cursor_execute", hear)
    shown(engine, token, now)
    sa.event.remove(engine, "before_cursor_execute", hear)
    return said


def test_whoever_left_has_no_calendar_and_gets_none_back_by_coming_back(
    engine: sa.Engine, ilka: Who, joris: Who, clock: Clock, password_hash: str
):
    token = give(engine, joris, clock.now())
    with writing(engine) as db:
        access.remove_person(db, ilka, joris.person_id, clock.now())
    assert shown(engine, token, clock.now()) is None
    with writing(engine) as db:
        invited = access.invite(db, ilka, "Joris", "helper", clock.now(), joris.person_id)
        access.join(db, str(invited.token), "joris", password_hash, access.Phone(None, "a test"), clock.now())
    assert shown(engine, token, clock.now()) is None


def test_a_row_of_somebody_who_was_removed_opens_nothing(engine: sa.Engine, ilka: Who, joris: Who, clock: Clock):
    """As after a request that renewed it while the owner removed him."""
    with writing(engine) as db:
        access.remove_person(db, ilka, joris.person_id, clock.now())
    assert shown(engine, give(engine, joris, clock.now()), clock.now()) is None


def test_a_database_that_was_set_back_has_no_calendars(engine: sa.Engine, ilka: Who, clock: Clock):
    token = give(engine, ilka, clock.now())
    with writing(engine) as db:
        end_everything(db, clock.now())
    assert shown(engine, token, clock.now()) is None


def test_it_shows_what_concerns_the_person(engine: sa.Engine, neighbours: Neighbours, clock: Clock):
    ilka, joris, stranger = (one.who for one in (neighbours.owner, neighbours.helper, neighbours.stranger))
    at = clock.now()
    wanted = [
        duty(at, "look:free"), duty(at, "look:hers", taken_by=ilka.person_id),
        duty(at, "look:his", taken_by=joris.person_id), duty(at, "look:gone", taken_by=ABSENT),
        duty(at, "loose:his", kind="fry_loose", taken_by=joris.person_id),
    ]  # fmt: skip
    keep(engine, ilka.household_id, *wanted)
    keep(engine, stranger.household_id, duty(at, "look:elsewhere"))
    hers, his = (give(engine, who, at) for who in (ilka, joris))
    assert keys(engine, hers, at) == ["look:free", "look:gone", "look:hers", "loose:his"]
    assert keys(engine, his, at) == ["look:free", "look:gone", "look:his", "loose:his"]
    # What he had taken is anybody's once he has left.
    with writing(engine) as db:
        access.remove_person(db, ilka, joris.person_id, at)
    assert "look:his" in keys(engine, hers, at)


def test_it_reaches_back_fourteen_days(engine: sa.Engine, ilka: Who, clock: Clock):
    now = clock.now()
    due = {f"look:{back}": now - timedelta(days=back) for back in (15, 14, 1, -1, -40)}
    keep(engine, ilka.household_id, *(duty(at, key) for key, at in due.items()))
    assert keys(engine, give(engine, ilka, now), now) == ["look:14", "look:1", "look:-1", "look:-40"]


def test_what_was_withdrawn_or_done_stays_and_says_when(engine: sa.Engine, ilka: Who, clock: Clock):
    at = clock.now()
    keep(engine, ilka.household_id, duty(at, "look:off"), duty(at, "look:over", done_at=at - timedelta(hours=1)))
    with writing(engine) as db:
        withdraw(db, ilka.household_id, ["look:off"], at)
    off, over = shown(engine, give(engine, ilka, at), at)
    assert (off.withdrawn_at, off.duty.done_at) == (at, None)
    assert (over.withdrawn_at, over.duty.done_at) == (None, at - timedelta(hours=1))


@pytest.mark.parametrize("names", [True, False])
def test_it_names_the_male_and_the_tank_where_that_was_asked_for(notebook: Notebook, clock: Clock, names: bool):
    now, engine, who = clock.now(), notebook.engine, notebook.who
    brood = hold(notebook, now)
    tank = next(id_ for id_, kind in notebook.kinds.items() if kind == "tank")
    keep(
        engine, who.household_id, duty(now, "look:a", brood=brood), duty(now, "warm:b", brood=tank, kind="too_warm"),
        duty(now, "look:unknown", brood=ABSENT),
    )  # fmt: skip
    entries = {entry.duty.key: entry for entry in shown(engine, give(engine, who, now, names), now)}
    told = {key: (entry.male, entry.tank) for key, entry in entries.items()}
    whole = {"look:a": ("Quill", "Hall"), "look:unknown": (None, None), "warm:b": (None, "Hall")}
    assert told == (whole if names else dict.fromkeys(whole, (None, None)))


def test_reading_it_writes_nothing(engine: sa.Engine, ilka: Who, clock: Clock):
    keep(engine, ilka.household_id, duty(clock.now()))
    token = give(engine, ilka, clock.now(), names=True)
    statements = asked(engine, token, clock.now())
    assert statements and all(one.startswith(("SELECT", "BEGIN", "ROLLBACK")) for one in statements)


def test_its_sequence_never_falls_also_where_a_duty_comes_back_before_anybody_heard_that_it_was_withdrawn(
    engine: sa.Engine, home: str, ilka: Who, clock: Clock
):
    # RFC 5545, 3.8.7.4: "monotonically increasing".
    token, seen = give(engine, ilka, clock.now()), []
    first = duty(clock.now() + timedelta(days=2))
    later = replace(first, due_at=first.due_at + timedelta(days=1), night=first.night + timedelta(days=1))
    for step in (first, None, first, later, None, later):
        with writing(engine) as db:
            if step is None:
                withdraw(db, home, [first.key], clock.now())
            else:
                before = read_kept(db, home, first.brood)
                write_kept(db, home, [renewed(step, before.get(step.key), "Europe/Berlin")])
        (entry,) = shown(engine, token, clock.now()) or []
        seen.append(entry.sequence)
    assert seen == [0, 1, 2, 3, 4, 5]
