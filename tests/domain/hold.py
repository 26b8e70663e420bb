"""A hold of our own invention, with a forecast that tests bend as they need it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from holdwatch.domain.catch import nights_ahead
from holdwatch.domain.duties import Duty, Lamps, Mark, Outlook, Prospects, Watched
from holdwatch.domain.looks import Look

ZONE = ZoneInfo("Europe/Berlin")
LAMPS_OUT, LAMPS_ON = time(21, 30), time(9, 0)
BROOD = "b1"


def local(day: int, hour: int, minute: int = 0, month: int = 11) -> datetime:
    """An instant of 2026 by the clock at the tank, in UTC."""
    return datetime(2026, month, day, hour, minute, tzinfo=ZONE).astimezone(UTC)


def outlook(now: datetime, **changes: Any) -> Outlook:
    """A forecast at `now`: hatch from the 20th, catch on the 25th, no loss."""
    nights = nights_ahead(now, ZONE, LAMPS_OUT, LAMPS_ON)
    plain = Outlook(
        zone=ZONE,
        lamps_out=LAMPS_OUT,
        lamps_on=LAMPS_ON,
        nights=tuple(Prospects(night.date, 1.0) for night in nights),
        hatch_q05=local(20, 12),
        hatch_q10=local(21, 6),
        lost=0.02,
        catch=date(2026, 11, 25),
    )
    return replace(plain, **changes)


def watched(*told: Look | Mark, ended: str | None = None) -> Watched:
    """The brood with these looks and marks."""
    looks = tuple(one for one in told if isinstance(one, Look))
    marks = tuple(one for one in told if isinstance(one, Mark))
    return Watched(BROOD, ended, Lamps(ZONE, LAMPS_OUT, LAMPS_ON), looks, marks)


def look(at: datetime, **seen: Any) -> Look:
    """A look; under dim red and full unless told otherwise."""
    return Look(**({"id": f"look-{at.timestamp():.0f}", "at": at, "light": "red", "mouth": "full"} | seen))


def mark(what: Any, person: str, at: datetime, duty: str = "") -> Mark:
    """A mark made at `at`, stamped then."""
    return Mark(what, duty, person, at, f"{at.timestamp() * 1000:013.0f}.0000.{person:>8}")


def of_kind(duties: tuple[Duty, ...], kind: str) -> list[Duty]:
    """The duties of one kind."""
    return [duty for duty in duties if duty.kind == kind]


def one(duties: tuple[Duty, ...], kind: str) -> Duty:
    """The only duty of a kind."""
    (duty,) = of_kind(duties, kind)
    return duty


def nights(duties: tuple[Duty, ...], kind: str = "look_tonight") -> list[int]:
    """The days of November on which these are."""
    return [duty.night.day for duty in of_kind(duties, kind)]


HOUR = timedelta(hours=1)
