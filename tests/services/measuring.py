"""A tank with a male that holds, its thermometers, and the loop that looks at its water."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import numpy as np
import sqlalchemy as sa

from holdwatch.config import load_profiles
from holdwatch.records.instants import milliseconds
from holdwatch.services.temperature import watch_water
from holdwatch.services.temperature.keeping import keep_readings
from holdwatch.services.watched_water import look_at_water, look_at_water_soon
from holdwatch.store import tables
from holdwatch.store.database import reading, writing
from people import Clock
from services.notebook import Notebook, hold

PROFILES = load_profiles()


class Water:
    """A tank with a male that holds, its thermometers, and the loop that looks at it."""

    def __init__(self, engine: sa.Engine, notebook: Notebook, clock: Clock, held_days: float = 18) -> None:
        self.engine, self.notebook, self.clock = engine, notebook, clock
        self.brood = hold(notebook, clock.now(), held_days)
        with reading(engine) as db:
            (self.tank,) = db.scalars(sa.select(tables.record.c.id).filter_by(kind="tank"))

    def measure(
        self, celsius: Any, since: datetime, minutes: float = 10, name: str = "probe", at_once: bool = False
    ) -> None:
        """Readings from an instant on, as a sensor's or, at once, as a file's."""
        values = np.rint(np.atleast_1d(celsius) * 1000).astype(np.int64)
        at_ms = milliseconds(since) + np.arange(values.size) * round(minutes * 60_000)
        household, now = self.notebook.who.household_id, self.clock.now()
        with writing(self.engine) as db:
            keep_readings(db, household, self.tank, name, at_ms, values)
            (look_at_water if at_once else look_at_water_soon)(db, household, self.tank, now)

    def watch(self, **ahead: float) -> int:
        """Let the loop come round after so long."""
        return watch_water(self.engine, PROFILES, self.clock.move(**ahead))

    def days(self, days: float, celsius: float, minutes: float = 10) -> None:
        """So many days of steady water until now."""
        count = round(days * 24 * 60 / minutes)
        self.measure(np.full(count, celsius), self.clock.now() - timedelta(minutes=minutes * count), minutes)

    @property
    def body(self):
        """What phones know of it."""
        return self.notebook.derived("temperature", self.tank)

    @property
    def duties(self) -> list[str]:
        """What is to be done about it, by kind."""
        body = self.notebook.derived("duties", self.tank) or {"duties": []}
        return [duty["kind"] for duty in body["duties"]]

    def revision(self) -> int:
        """The household's revision."""
        mine = {"household_id": self.notebook.who.household_id}
        with reading(self.engine) as db:
            return db.scalar(sa.select(tables.household.c.revision).filter_by(**mine))
