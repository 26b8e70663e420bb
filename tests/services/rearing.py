"""A brood that was caught, its young in a nursery, and the loop that looks at them."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import sqlalchemy as sa

from holdwatch.config import load_profiles
from holdwatch.services.forecasts import issue_asked
from holdwatch.services.nursery import watch_nurseries
from people import Clock
from services.notebook import Notebook, hold

PROFILES = load_profiles()
VESSEL = {"name": "Shelf", "litres": 40, "alive": 30, "how": "exact", "jug": "white jug", "jug_litres": 2}


class Nursery:
    """One batch of a household; `plan` lets the loop come round and says what is planned by then, by kind."""

    def __init__(self, engine: sa.Engine, notebook: Notebook, clock: Clock) -> None:
        self.engine, self.notebook, self.clock = engine, notebook, clock
        self.brood = hold(notebook, clock.now(), days=24)
        self.loop()
        self.write("mark", about=self.brood, what="caught", free=30)
        self.loop()
        self.batch = self.write("batch", about=self.brood, **VESSEL)

    def write(self, kind: str, **fields: Any) -> str:
        """A record of just now."""
        return self.notebook.write(kind, self.clock.now(), at=self.clock.now(), **fields)

    def edit(self, record: str, **fields: Any) -> None:
        """A new value of a record of the batch's."""
        self.notebook.edit(record, self.clock.now(), **fields)

    def loop(self, **ahead: float) -> int:
        """Forecasts and nurseries after so long; how many nurseries were looked at."""
        now = self.clock.move(**ahead) if ahead else self.clock.now()
        issue_asked(self.engine, PROFILES, now)
        return watch_nurseries(self.engine, PROFILES, now)

    def plan(self, **ahead: float) -> dict[str, list[dict[str, Any]]]:
        """The duties as phones get them, by kind, after so long."""
        self.loop(**ahead)
        found: dict[str, list[dict[str, Any]]] = {}
        for duty in (self.notebook.derived("duties", self.batch) or {"duties": []})["duties"]:
            found.setdefault(duty["kind"], []).append(duty)
        return found

    @property
    def told(self) -> dict[str, Any]:
        """What phones are told of the batch."""
        return self.notebook.derived("nursery", self.batch)


TILL_MORNING = timedelta(hours=12)
"""From the evening on which these tests begin, 21:10 at the tank, to 9:10 of the next day."""
