"""The database is set back to a copy of it."""

from __future__ import annotations

from pathlib import Path

import sqlalchemy as sa

from holdwatch.config import Settings
from holdwatch.services.restoring import SetBack, restore
from people import Clock


def set_back(engine: sa.Engine, settings: Settings, copy: Path, clock: Clock) -> SetBack:
    """Stop using the database, and set it back 30 hours later."""
    engine.dispose()
    return restore(settings.database_url, copy, clock.move(hours=30))
