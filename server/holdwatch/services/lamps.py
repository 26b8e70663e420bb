"""When a tank's lamps go out and come on, as its record says it."""

from __future__ import annotations

from datetime import time
from zoneinfo import ZoneInfo

from ..domain.duties import Lamps
from .sync.stored import Stored

# Of a tank whose lamp times nobody has said; phones take the same.
USUAL_LAMPS = (("lamps_out", "21:00"), ("lamps_on", "09:00"))


def lamps_of(tank: Stored | None, zone: str) -> Lamps:
    """The lamps of a tank, as usual where it is not known or does not say, by the clock of `zone`."""
    out, on = (time.fromisoformat((tank and tank.value(name)) or usual) for name, usual in USUAL_LAMPS)
    return Lamps(ZoneInfo(zone), out, on)
