"""One household of our own invention: the instant of its story and its tank."""

from datetime import UTC, datetime, time
from typing import Any

from holdwatch.domain.forecast import Tank

NOW = datetime(2026, 3, 20, 20, 0, tzinfo=UTC)


def tank(**changes: Any) -> Tank:
    """Return a tank at 26.5 °C in UTC with lamps from 8 to 22, changed as asked."""
    usual = {"zone": "UTC", "set_point_c": 26.5, "lamps_out": time(22), "lamps_on": time(8), "company": "others"}
    return Tank(**usual | changes)
