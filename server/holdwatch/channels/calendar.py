"""A person's duties as a calendar (RFC 5545); like every reminder it names no fish, unless the person wants that."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

from icalendar import Alarm, Calendar, Event, Timezone, TimezoneDaylight, TimezoneStandard

from ..domain.duties import Duty
from .words import message_of

# Common practice, no source: what is to be done takes minutes, and a calendar shows shorter entries badly.
LASTS = timedelta(minutes=30)
AHEAD = timedelta(minutes=30)
"""How long before the duty the calendar rings."""
REFRESH = timedelta(hours=1)
SECOND, DAY = timedelta(seconds=1), timedelta(days=1)
SEEN_TO, CALLED_OFF = "Seen to: ", "Called off: "


@dataclass(frozen=True)
class Entry:
    """One duty with what a calendar shows of it; the names are None where they are not to be told."""

    household_id: str
    duty: Duty
    zone: str
    sequence: int
    withdrawn_at: datetime | None = None
    male: str | None = None
    tank: str | None = None


def calendar_of(entries: Sequence[Entry], origin: str, now: datetime) -> bytes:
    """The entries as a calendar to subscribe to; `origin` is where the pages of Holdwatch are."""
    calendar = Calendar()
    calendar.add("prodid", "-//Holdwatch//Duties//EN")
    calendar.add("version", "2.0")
    # RFC 7986, 5.1 and 5.7: what it is called, and how often to ask again.
    calendar.add("name", "Holdwatch")
    calendar.add("refresh-interval", REFRESH, {"VALUE": "DURATION"})
    years = [entry.duty.due_at.year for entry in entries] or [now.year]
    first, last = datetime(min(years) - 1, 1, 1, tzinfo=UTC), datetime(max(years) + 2, 1, 1, tzinfo=UTC)
    # Section 3.6 wants at least one component, also where nothing is due.
    for zone in sorted({entry.zone for entry in entries}) or ["UTC"]:
        calendar.add_component(_timezone(zone, first, last))
    for entry in entries:
        calendar.add_component(_event(entry, origin, now))
    return calendar.to_ical()


def _event(entry: Entry, origin: str, now: datetime) -> Event:
    duty, done_at, withdrawn_at = entry.duty, entry.duty.done_at, entry.withdrawn_at
    # As of its own time, so that an entry says the same whenever it is fetched.
    message = message_of(duty, entry.zone, duty.due_at)
    title = f"{name}: {message.title}" if (name := entry.male or entry.tank) else message.title
    event = Event()
    # By household and key: it stays when the duty moves, and tells neither.
    event.add("uid", str(uuid5(UUID(entry.household_id), duty.key)))
    # Not before an earlier fetch, or a calendar may take what changed since for older.
    event.add("dtstamp", _whole(now))
    if changed := [at for at in (done_at, withdrawn_at) if at]:
        event.add("last-modified", _whole(max(changed)))
    # Even while it stands, odd once it is withdrawn, so that each change is higher than all before it.
    event.add("sequence", entry.sequence)
    event.add("status", "CANCELLED" if withdrawn_at else "CONFIRMED")
    event.add("summary", (SEEN_TO if done_at else CALLED_OFF if withdrawn_at else "") + title)
    event.add("description", message.body)
    event.add("url", origin + message.path)
    # A reminder takes nobody's time: he is not shown as busy.
    event.add("transp", "TRANSPARENT")
    event.add("dtstart", _by_the_tank(duty.due_at, entry.zone))
    event.add("dtend", _by_the_tank(duty.due_at + LASTS, entry.zone))
    if entry.tank:
        event.add("location", entry.tank)
    if not (done_at or withdrawn_at):
        event.add_component(_alarm(title))
    return event


def _alarm(title: str) -> Alarm:
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", title)
    alarm.add("trigger", -AHEAD)
    return alarm


def _by_the_tank(at: datetime, zone: str) -> datetime:
    """The instant by the tank's clock; in UTC where that clock shows it a second time.

    A local time that comes twice means the first one (section 3.3.5), so the second cannot be written with a zone.
    """
    local = _whole(at).astimezone(ZoneInfo(zone))
    return local.astimezone(UTC) if local.fold else local


def _timezone(name: str, first: datetime, last: datetime) -> Timezone:
    """The zone's offsets from `first` to `last` (section 3.6.5).

    Not by `icalendar`, which writes the onset in spring by the clock after it: an hour late.
    """
    timezone, zone = Timezone(), ZoneInfo(name)
    timezone.add("tzid", name)
    for onset in (first, *_changes(zone, first, last)):
        local = onset.astimezone(zone)
        before = _offset(zone, onset if onset == first else onset - SECOND)
        part = TimezoneDaylight() if local.dst() else TimezoneStandard()
        part.add("dtstart", (onset + before).replace(tzinfo=None))
        part.add("tzoffsetfrom", before)
        part.add("tzoffsetto", _offset(zone, onset))
        part.add("tzname", local.tzname())
        timezone.add_component(part)
    return timezone


def _changes(zone: ZoneInfo, first: datetime, last: datetime) -> Iterator[datetime]:
    """The instants from which another offset holds."""
    for day in range((last - first) // DAY):
        before, after = first + day * DAY, first + (day + 1) * DAY
        if _offset(zone, before) != _offset(zone, after):
            yield _change(zone, before, after)


def _change(zone: ZoneInfo, before: datetime, after: datetime) -> datetime:
    while after - before > SECOND:
        middle = before + (after - before) // 2 // SECOND * SECOND
        before, after = (middle, after) if _offset(zone, middle) == _offset(zone, before) else (before, middle)
    return after


def _offset(zone: ZoneInfo, at: datetime) -> timedelta:
    return at.astimezone(zone).utcoffset() or timedelta(0)


def _whole(at: datetime) -> datetime:
    return at.replace(microsecond=0)
