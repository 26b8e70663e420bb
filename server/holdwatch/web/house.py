"""What every view needs, put together once by `app` and found on the application."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import cast

import sqlalchemy as sa
from flask import current_app

from ..config import Settings
from ..domain.species import Profile
from ..services.photos import Cabinet
from ..store.migrate import Identity


@dataclass(frozen=True)
class House:
    """The parts handed down to the views."""

    settings: Settings
    engine: sa.Engine
    identity: Identity
    profiles: Mapping[str, Profile]
    now: Callable[[], datetime]
    nudge: Callable[[], None]
    """Tells the working loop that there is something to do."""
    cabinet: Cabinet
    """Where photos are kept."""


def house() -> House:
    """The house of the application that answers this request."""
    return cast(House, current_app.extensions["holdwatch"])
