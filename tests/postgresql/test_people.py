"""People on PostgreSQL, where transactions run side by side."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor, wait

import sqlalchemy as sa

from holdwatch.services.derived import derived_body
from holdwatch.store.database import reading, writing
from people import START, Neighbours, invite_in


def test_two_who_join_at_the_same_time_are_both_told_of(engine: sa.Engine, neighbours: Neighbours, password_hash: str):
    def join(name: str) -> None:
        with writing(engine) as db:
            invite_in(db, neighbours.owner.who, name, "helper", password_hash, START)

    with ThreadPoolExecutor(1) as pool:
        with writing(engine) as db:
            invite_in(db, neighbours.owner.who, "Eva", "helper", password_hash, START)
            second = pool.submit(join, "Wim")
            # It waits for us before it tells of anybody.
            assert not wait([second], timeout=0.5).done
        second.result()
    with reading(engine) as db:
        told = derived_body(db, neighbours.owner.who.household_id, "people", None)["people"]
    assert {"Eva", "Wim"} <= {person["name"] for person in told}
