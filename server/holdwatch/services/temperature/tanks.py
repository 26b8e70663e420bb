"""The tank that readings are of: found and checked to be the household's own."""

from __future__ import annotations

import sqlalchemy as sa

from ..access import NotAllowed, NotFound, NotUsable, Who
from ..sync.stored import Stored, read_stored


def tank_of(db: sa.Connection, household_id: str, tank_id: str) -> Stored:
    """The household's tank; NotFound where it has none of that id, NotUsable where it was taken away."""
    tank = read_stored(db, household_id, [tank_id]).get(tank_id)
    if tank is None or tank.kind != "tank":
        raise NotFound("There is no such tank. A new one must have gone up from its phone first.")
    if tank.value("gone"):
        raise NotUsable("This tank was taken away. Put it back before its readings are kept.")
    return tank


def require_keeper(who: Who) -> None:
    """NotAllowed for a helper."""
    if who.role == "helper":
        raise NotAllowed("Only the owner or a keeper can do this.")
