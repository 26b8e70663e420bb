"""A tank with a sensor of its own, for tests that need one."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa

from holdwatch.services import temperature
from holdwatch.services.access import Who
from holdwatch.services.sync import Push, agree

TANK = "018f6d2a-7c3e-7000-8000-0123456789ac"
STAMP = "1764101400000.0000.ab12cd34"


def measured_tank(db: sa.Connection, owner: Who, now: datetime) -> str:
    """Write down the tank TANK, and make a token for a sensor of it; the token."""
    values = {"name": "Reef", "zone": "Europe/Copenhagen", "set_point_c": 26}
    fields = {name: {"value": value, "stamp": STAMP, "was": None} for name, value in values.items()}
    change = {"id": TANK, "kind": "tank", "author": owner.person_id, "device": "ab12cd34", "fields": fields}
    (verdict,) = agree(db, owner, Push([change], 0, 1, False), now).verdicts
    assert verdict.verdict == "taken", verdict.reason
    return str(temperature.make_token(db, owner, TANK, "probe", now))
