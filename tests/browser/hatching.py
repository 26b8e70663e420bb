"""Two males of the other ways, put into a house by its owner's phone: one lets go at hatching, one guards a nest."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from itertools import count
from typing import Any
from zoneinfo import ZoneInfo

from playwright.sync_api import Page

from browser.house import ZONE, House
from holdwatch.records.ids import record_id
from holdwatch.records.instants import instant_text, milliseconds
from holdwatch.records.stamps import Stamp

DEVICE = "nightph0"
HAND_IN = """
async ([changes, device]) => {
  const ask = async (path, how) => (await fetch(`/api/v1/${path}`, how)).json();
  const me = await ask('me');
  const own = changes.map((one) => ({ ...one, author: me.person.id }));
  const body = { schema: 1, device, cursor: 0, epoch: null, changes: own };
  const headers = { 'content-type': 'application/json' };
  return (await ask('sync', { method: 'POST', headers, body: JSON.stringify(body) })).verdicts;
}
"""


@dataclass(frozen=True)
class Seen:
    """A look so many days after the spawning."""

    day: int
    clock: str
    light: str
    parts: dict[str, str]


@dataclass(frozen=True)
class Watched:
    """A male in a tank of his own, and what was seen of him since the spawning, which nobody saw."""

    name: str
    species: str
    tank: str
    set_point_c: float
    spawned_days_ago: int
    seen: tuple[Seen, ...]


FEEDING, LATE = "18:05", "21:35"
PAJAMA = Watched(
    "Bramble",
    "sphaeramia_nematoptera",
    "Reed cube",
    27.0,
    7,
    (
        Seen(1, FEEDING, "daylight", {"mouth": "full", "eggs": "orange", "food": "ignored"}),
        Seen(3, LATE, "red", {"mouth": "full"}),
        Seen(6, FEEDING, "daylight", {"mouth": "full", "eggs": "silver", "food": "ignored"}),
    ),
)
CLOWN = Watched(
    "Rook",
    "amphiprion_ocellaris",
    "Anemone tank",
    27.5,
    6,
    (
        Seen(1, FEEDING, "daylight", {"clutch": "there", "eggs": "orange"}),
        Seen(3, FEEDING, "daylight", {"clutch": "there", "eggs": "orange"}),
        Seen(5, FEEDING, "daylight", {"clutch": "there", "eggs": "silver"}),
    ),
)


class Notebook:
    """What is to be handed in, in the order of writing."""

    def __init__(self) -> None:
        self.changes: list[dict[str, Any]] = []
        self.numbers = count(1)

    def write(self, kind: str, written: datetime, **fields: Any) -> str:
        """Add a record written at that instant; its id."""
        number = next(self.numbers)
        stamp = str(Stamp(milliseconds(written), number, DEVICE))
        made = record_id(milliseconds(written), number)
        values = {"at": instant_text(written), **fields}
        given = {name: {"value": value, "stamp": stamp, "was": None} for name, value in values.items()}
        self.changes.append({"id": made, "kind": kind, "device": DEVICE, "fields": given})
        return made


def watch(page: Page, house: House, *males: Watched) -> None:
    """Put these males into the house; the person who is signed in on the page has written it all."""
    book = Notebook()
    for male in males:
        _write(book, male, house.now())
    verdicts = page.evaluate(HAND_IN, [book.changes, DEVICE])
    assert {one["verdict"] for one in verdicts} == {"taken"}, verdicts


def _write(book: Notebook, male: Watched, now: datetime) -> None:
    spawned = _local(now, -male.spawned_days_ago, "19:00")
    begun = spawned - timedelta(days=20)
    lamps = {"zone": ZONE, "lamps_out": "21:00", "lamps_on": "08:00"}
    tank = book.write("tank", begun, name=male.tank, set_point_c=male.set_point_c, company="others", **lamps)
    known = {"name": male.name, "species": male.species, "sex": "male", "has_released_before": True}
    fish = book.write("fish", begun, about=tank, **known)
    first, last = instant_text(spawned - timedelta(hours=23)), instant_text(spawned + timedelta(hours=23))
    brood = book.write("brood", spawned + timedelta(hours=23), about=fish, not_before=first, not_after=last, ended=None)
    for at, seen in _seen(male, now):
        book.write("look", at, about=brood, light=seen.light, **seen.parts)


def _seen(male: Watched, now: datetime) -> Iterator[tuple[datetime, Seen]]:
    for seen in male.seen:
        yield _local(now, seen.day - male.spawned_days_ago, seen.clock), seen


def _local(now: datetime, days: int, clock: str) -> datetime:
    zone = ZoneInfo(ZONE)
    day = now.astimezone(zone).date() + timedelta(days=days)
    return datetime.combine(day, time.fromisoformat(clock), tzinfo=zone)
