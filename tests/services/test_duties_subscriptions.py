"""Which phone gets reminders: one subscription a session, and nobody else's."""

from __future__ import annotations

import pytest
import sqlalchemy as sa

from channels.push_endpoint import PushEndpoint
from domain.hold import HOUR, local
from holdwatch.services.duties import unsubscribe
from holdwatch.store import tables
from holdwatch.store.database import reading, writing
from services.reminding import subscribe, subscriptions

DUE = local(25, 18, 30)


@pytest.fixture
def phones(engine, neighbours):
    """Everybody in both households has a phone that gets reminders."""
    for name, opened in vars(neighbours).items():
        subscribe(engine, opened, name, DUE - 24 * HOUR)


def test_sending_the_same_subscription_again_changes_nothing(engine, neighbours):
    with PushEndpoint() as endpoint:
        phone = endpoint.phone("ilka")
    for _ in range(3):
        subscribe(engine, neighbours.owner, phone, DUE)
    assert list(subscriptions(engine)) == [phone.endpoint]
    with reading(engine) as db:
        assert db.scalar(sa.select(tables.push_subscription.c.created_at)) == DUE.timestamp() * 1000


def test_a_new_subscription_of_a_phone_takes_the_place_of_the_old_one(engine, neighbours):
    subscribe(engine, neighbours.owner, "old", DUE)
    subscribe(engine, neighbours.owner, "new", DUE)
    assert list(subscriptions(engine)) == ["new"]


def test_a_phone_that_signed_in_anew_rings_once(engine, neighbours):
    with PushEndpoint() as endpoint:
        phone = endpoint.phone("shared")
    subscribe(engine, neighbours.keeper, phone, DUE)
    subscribe(engine, neighbours.stranger, phone, DUE)
    with reading(engine) as db:
        (row,) = db.execute(sa.select(tables.push_subscription)).all()
    assert row.session_id == neighbours.stranger.who.session_id


def test_nobody_takes_a_phone_whose_secret_he_does_not_know(engine, neighbours):
    with PushEndpoint() as endpoint:
        phone = endpoint.phone("ilka")
    subscribe(engine, neighbours.owner, phone, DUE)
    subscribe(engine, neighbours.stranger, phone.endpoint, DUE)
    with reading(engine) as db:
        assert len(db.execute(sa.select(tables.push_subscription)).all()) == 2


def test_only_ones_own_phone_can_be_ended(engine, neighbours, phones):
    with writing(engine) as db:
        unsubscribe(db, neighbours.keeper.who, "owner")
        unsubscribe(db, neighbours.stranger.who, "keeper")
        unsubscribe(db, neighbours.keeper.who, "keeper")
    assert sorted(subscriptions(engine)) == ["helper", "owner", "stranger"]
