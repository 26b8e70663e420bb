"""Failed sign-ins make the next one wait, for the login and for the address."""

from __future__ import annotations

import pytest
import sqlalchemy as sa

from holdwatch.services import access
from holdwatch.services.access.attempts import ADDRESS_FREE, LOGIN_FREE, LONGEST_WAIT_SECONDS, wait_seconds
from holdwatch.store.database import reading, writing
from holdwatch.store.tables import attempt
from people import PASSWORD, Clock, Neighbours

PHONE = access.Phone("ab12cd34", "a test")


def fail(engine: sa.Engine, clock: Clock, login: str = "ilka@reedmarsh.example", address: str = "192.0.2.7") -> None:
    with writing(engine) as db:
        access.knock(db, login, address, clock.now())


def wait_of(engine: sa.Engine, clock: Clock, login: str = "ilka@reedmarsh.example", address: str = "192.0.2.7") -> int:
    try:
        fail(engine, clock, login, address)
    except access.TooManyAttempts as problem:
        return problem.wait_seconds
    return 0


def test_the_wait_doubles_after_the_free_failures_and_has_an_end():
    waits = [wait_seconds(failures, free=5) for failures in (1, 5, 6, 7, 8, 13, 14, 100_000)]
    assert waits == [0, 0, 2, 4, 8, 256, LONGEST_WAIT_SECONDS, LONGEST_WAIT_SECONDS]


def test_a_login_waits_after_five_failures(engine, clock, neighbours):
    waits = [wait_of(engine, clock, address=f"192.0.2.{number}") for number in range(LOGIN_FREE + 1)]
    assert waits == [0] * (LOGIN_FREE + 1)
    assert wait_of(engine, clock, address="192.0.2.99") == 2


def test_an_address_waits_after_twenty_failures_on_any_logins(engine, clock):
    waits = [wait_of(engine, clock, login=f"nobody-{number}") for number in range(ADDRESS_FREE + 1)]
    assert waits == [0] * (ADDRESS_FREE + 1)
    assert wait_of(engine, clock, login="somebody-else") == 2
    assert wait_of(engine, clock, login="somebody-else", address="198.51.100.7") == 0


def test_addresses_of_one_ipv6_network_count_as_one(engine, clock):
    for number in range(ADDRESS_FREE + 1):
        fail(engine, clock, login=f"nobody-{number}", address=f"2001:db8:1:2::{number:x}")
    assert wait_of(engine, clock, login="somebody", address="2001:db8:1:2:ffff::1") == 2
    assert wait_of(engine, clock, login="somebody", address="2001:db8:1:3::1") == 0


def test_waiting_attempts_are_not_counted_and_the_wait_ends(engine, clock):
    for _ in range(LOGIN_FREE + 1):
        fail(engine, clock)
    assert [wait_of(engine, clock) for _ in range(3)] == [2, 2, 2]
    clock.move(seconds=2)
    assert wait_of(engine, clock) == 0
    assert wait_of(engine, clock) == 4


def test_an_unknown_login_waits_just_as_a_known_one(engine, clock, neighbours):
    for login in ("ilka@reedmarsh.example", "nobody@reedmarsh.example"):
        waits = [wait_of(engine, clock, login, f"192.0.2.{number}") for number in range(LOGIN_FREE + 2)]
        assert waits == [0] * (LOGIN_FREE + 1) + [2]


def test_success_forgets_the_logins_failures_and_only_its_own_one_of_the_address(engine, clock, neighbours):
    for number in range(ADDRESS_FREE):
        fail(engine, clock, login=f"nobody-{number}")
    for _ in range(3):
        sign_in(engine, clock)
    assert wait_of(engine, clock, login="nobody-else") == 0
    assert wait_of(engine, clock, login="nobody-else") == 2


def sign_in(engine: sa.Engine, clock: Clock) -> None:
    with writing(engine) as db:
        knocked = access.knock(db, "ilka@reedmarsh.example", "192.0.2.7", clock.now())
    access.check_password(knocked, PASSWORD)
    with writing(engine) as db:
        access.sign_in(db, knocked, PHONE, clock.now())


def test_failures_are_forgotten_after_a_day_and_leave_no_row(engine, clock):
    for number in range(LOGIN_FREE):
        fail(engine, clock, address=f"192.0.2.{number}")
    clock.move(days=1, seconds=1)
    fail(engine, clock)
    with reading(engine) as db:
        assert sorted(db.scalars(sa.select(attempt.c.failures))) == [1, 1]


def test_neither_logins_nor_addresses_can_be_read_from_the_table(engine, clock):
    fail(engine, clock, login="my password typed in the wrong field", address="192.0.2.7")
    with reading(engine) as db:
        names = list(db.scalars(sa.select(attempt.c.who)))
    assert len(names) == 2
    assert all(len(name) == 64 and set(name) <= set("0123456789abcdef") for name in names)


@pytest.mark.parametrize("login", ["ILKA@reedmarsh.example", "  ilka@reedmarsh.example ", "ｉlka@reedmarsh.example"])
def test_a_login_is_the_same_however_it_is_typed(engine, clock, neighbours: Neighbours, login):
    with writing(engine) as db:
        knocked = access.knock(db, login, "192.0.2.7", clock.now())
    access.check_password(knocked, PASSWORD)
    with writing(engine) as db:
        assert access.sign_in(db, knocked, PHONE, clock.now()).who.person_id == neighbours.owner.who.person_id
