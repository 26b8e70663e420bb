"""Which broods' forecasts are out of date: asked for in the transaction that made them so."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ..records.instants import milliseconds
from ..store import tables
from ..store.among import among, as_one
from ..store.upsert import inserting
from .written import Written

THINGS = frozenset({"tank", "fish", "brood"})
SUPPLIES = frozenset({"food", "culture"})
"""What every brood's first food depends on."""


def ask_for(db: sa.Connection, household_id: str, written: Iterable[Written], left: set[str], now: datetime) -> None:
    """Ask for every brood that these records bear on; `left` are ids they belonged to before."""
    start: set[Any] = set(left)
    fed: set[Any] = set()
    is_supplied = False
    for record in written:
        is_supplied |= record.kind in SUPPLIES
        if record.kind in THINGS:
            start.add(record.id)
        # What is said of a male bears on him alone, not on all in his tank.
        if record.kind != "fish":
            start.add(record.value("about"))
        if record.kind == "feeding":
            fed.add(record.value("about"))
    start.discard(None)
    start.update(_forecast_ones(db, household_id) if is_supplied else ())
    start.update(_wondered_about(db, household_id, fed - {None}, now) if fed else ())
    if start:
        ask_for_broods(db, ((household_id, brood) for brood in broods_of(db, household_id, start)), now)


def _forecast_ones(db: sa.Connection, household_id: str) -> Iterable[str]:
    """The broods under way that have a forecast, which grows old."""
    return db.scalars(sa.select(tables.ageing.c.brood_id).filter_by(household_id=household_id))


def _wondered_about(db: sa.Connection, household_id: str, males: set[str], now: datetime) -> Iterable[str]:
    """The broods of these males that are over, of whom somebody is to see whether they eat again."""
    duty, record = tables.duty, tables.record
    same = (record.c.household_id == duty.c.household_id) & (record.c.id == duty.c.brood_id)
    open_ = (duty.c.kind == "eating_again", duty.c.withdrawn_at.is_(None), duty.c.done_at.is_(None))
    wanted = (duty.c.household_id == household_id, *open_, duty.c.until_at > milliseconds(now))
    return db.scalars(sa.select(record.c.id).join(duty, same).where(*wanted, record.c.about.in_(sorted(males))))


def ask_for_broods(db: sa.Connection, broods: Iterable[tuple[str, str]], now: datetime) -> None:
    """Ask for these broods, each named by its household and its own id."""
    table = tables.recompute
    rows = [
        {"household_id": household_id, "brood_id": brood_id, "asked_at": milliseconds(now)}
        for household_id, brood_id in sorted(broods)
    ]
    if not rows:
        return
    statement = inserting(db, table)
    asked = statement.excluded.asked_at
    # Later than what was asked before, whatever the clock says: whoever computes now forgets only what he began with.
    later = sa.case((asked > table.c.asked_at, asked), else_=table.c.asked_at + 1)
    db.execute(statement.on_conflict_do_update(index_elements=list(table.primary_key), set_={"asked_at": later}), rows)


def asked_for(db: sa.Connection, household_id: str) -> bool:
    """Whether any forecast of the household is waiting to be made anew."""
    table = tables.recompute
    query = sa.select(table.c.brood_id).where(table.c.household_id == household_id).limit(1)
    return db.execute(query).first() is not None


def broods_of(db: sa.Connection, household_id: str, start: set[str]) -> set[str]:
    """Broods among `start`, and those under way of the same males, and below its fish and tanks."""
    named = _among(db, household_id, "brood", BY_ID, start)
    fish = _among(db, household_id, "fish", BY_ABOUT, start)
    males = start | {row.id for row in fish} | {row.about for row in named if row.about}
    below = _among(db, household_id, "brood", BY_ABOUT, males)
    return {row.id for row in named} | {row.id for row in below if _under_way(row)}


def broods_of_species(db: sa.Connection, household_id: str, species: set[str]) -> set[str]:
    """The broods under way of all males of these species."""
    fish = db.execute(OF_KIND, {"household_id": household_id, "kind": "fish"}).all()
    males = {row.id for row in fish if json.loads(row.fields).get("species") in species}
    below = _among(db, household_id, "brood", BY_ABOUT, males)
    return {row.id for row in below if _under_way(row)}


def _of_kind() -> sa.Select:
    record = tables.record.c
    mine = (record.household_id == sa.bindparam("household_id"), record.kind == sa.bindparam("kind"))
    return sa.select(record.id, record.about, record.fields).where(*mine)


# Made once: every push looks here, and to make them takes as long as to find.
OF_KIND = _of_kind()
BY_ID, BY_ABOUT = (
    {dialect: OF_KIND.where(wanted) for dialect, wanted in among(column, "ids").items()}
    for column in (tables.record.c.id, tables.record.c.about)
)


def _among(
    db: sa.Connection, household_id: str, kind: str, by: Mapping[str, sa.Select], ids: Iterable[str]
) -> Sequence[Any]:
    asked = {"household_id": household_id, "kind": kind, "ids": as_one(db, ids)}
    return db.execute(by[db.dialect.name], asked).all()


def _under_way(brood: Any) -> bool:
    fields = json.loads(brood.fields)
    return not fields.get("ended") and not fields.get("gone")
