"""The clock on a wall, made an instant."""

from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo


def wall_instant(day: date, wall: time, zone: ZoneInfo, fold: int = 0) -> datetime:
    """The instant, in UTC, at which clocks of `zone` show `wall` on `day`.

    A time that the clocks leave out is told by the offset before they went forward. Of one that comes twice `fold` says
    which (PEP 495): the first unless it is 1, as RFC 5545, 3.3.5 has it too.
    """
    return datetime.combine(day, wall.replace(fold=fold), zone).astimezone(UTC)
