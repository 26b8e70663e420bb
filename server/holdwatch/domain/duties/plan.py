"""Plans the duties of one brood; planning again with what stands already changes nothing.

Assumptions of this plan, none with a published source:
- *look*: every evening from two nights before the hatch's 5 % quantile until the night before the catch; before
  that every third evening after the last look, for a look costs him little but not nothing; none where he holds
  nothing any more (a chance under 0.05). Told at 30 min after lamps-out, when it is to be made; a look made since
  noon of that day, at a feeding say, is the evening's look.
- *window*: told on the evening two days before the hatch's 10 % quantile: brine shrimp want a day and a half to
  hatch, and a nursery filled from the same tank a night to settle. Once told it stands, however the hatch moves.
- *catch*: told once, four hours before its instant: after the day's feeding look has come in, early enough to be
  home. A night that becomes the best one later than that is told at once.
- *loose fry*: told at once, of use for 12 h; one alarm a night, and another where fry are seen after a handling.
- *may be lost*: from a chance of 0.7 on until it falls under 0.5, so that it does not flicker; told while the lamps
  are on, or when they come on, for what it asks is a look in white light.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from ..looks import Look
from .claims import Mark, claimed
from .duty import Duty, brood_key, night_key
from .outlook import Outlook, night_of, surely_empty

LOOK_AFTER_LAMPS_OUT = timedelta(minutes=30)
LOOKS_PLANNED_NIGHTS = 4
NEAR_HATCH = timedelta(days=2)
QUIET_EVENINGS = 3
STILL_HOLDING = 0.05
TOLD_BEFORE_LAMPS_OUT = timedelta(hours=3)
WINDOW_BEFORE_HATCH = timedelta(days=2)
WINDOW_OF_USE = timedelta(days=3)
LOOSE_OF_USE = timedelta(hours=12)
LOST_FROM, LOST_UNTIL = 0.7, 0.5
LOST_OF_USE = timedelta(days=7)


def planned(
    brood: str,
    outlook: Outlook | None,
    zone: ZoneInfo,
    looks: Sequence[Look],
    marks: Sequence[Mark],
    standing: Sequence[Duty],
    ended: str | None,
    now: datetime,
) -> tuple[Duty, ...]:
    """The brood's duties in order of their time; what stands and is not among them is withdrawn.

    `outlook` is None where no forecast can be made: what stands is kept. `ended` is how the brood ended.
    """
    if ended == "mistake":
        return ()
    seen = [look for look in looks if look.at <= now]
    found = list(_loose(brood, seen, marks, zone, now))
    if ended is None:
        found += _under_way(brood, outlook, seen, standing, now)
    return tuple(sorted((claimed(duty, marks) for duty in found), key=lambda duty: (duty.due_at, duty.key)))


def _under_way(
    brood: str, outlook: Outlook | None, looks: Sequence[Look], standing: Sequence[Duty], now: datetime
) -> list[Duty]:
    kept = {duty.key: duty for duty in standing if duty.kind != "fry_loose"}
    if outlook is None:
        return [duty for duty in kept.values() if duty.until_at > now]
    doubtful = outlook.lost >= LOST_UNTIL and not surely_empty(looks)
    catch = outlook.catch or (_standing_catch(kept.values(), now) if doubtful else None)
    new = [
        *_looks(brood, outlook, looks, catch, doubtful),
        *_window(brood, outlook, catch, kept, now),
        *_catch(brood, outlook, catch),
        *_lost(brood, outlook, doubtful, kept, now),
    ]
    if not doubtful:
        return new
    # While a loss is only likely, nothing that stands is taken away.
    keys = {duty.key for duty in new}
    return new + [duty for duty in kept.values() if duty.key not in keys and duty.until_at > now]


def _standing_catch(standing: Iterable[Duty], now: datetime) -> date | None:
    return next((duty.night for duty in standing if duty.kind == "catch_tonight" and duty.until_at > now), None)


def _looks(
    brood: str, outlook: Outlook, looks: Sequence[Look], catch: date | None, doubtful: bool
) -> Iterator[Duty]:
    evenings = {night_of(look.at, outlook.zone): look.at for look in looks if look.findings() and not look.recalled}
    last = max(evenings, default=None)
    for prospects in outlook.nights[:LOOKS_PLANNED_NIGHTS]:
        night, out = prospects.night, outlook.out(prospects.night)
        if catch is not None and night >= catch:
            return
        near = out + NEAR_HATCH >= outlook.hatch_q05
        if (near or _is_third(night, last)) and (doubtful or prospects.holding >= STILL_HOLDING):
            at = out + LOOK_AFTER_LAMPS_OUT
            key = night_key("look_tonight", brood, night)
            done_at = evenings.get(night)
            yield Duty(key, "look_tonight", brood, night, at, at, outlook.morning(night), done_at=done_at)


def _is_third(night: date, last: date | None) -> bool:
    since = (night - last).days if last else night.toordinal()
    return since % QUIET_EVENINGS == 0


def _window(
    brood: str, outlook: Outlook, catch: date | None, kept: dict[str, Duty], now: datetime
) -> Iterator[Duty]:
    key = brood_key("window_opens", brood)
    if key in kept and kept[key].due_at <= now:
        yield kept[key]
        return
    if catch is None:
        return
    night = (outlook.hatch_q10 - WINDOW_BEFORE_HATCH).astimezone(outlook.zone).date()
    due_at = outlook.out(night) - TOLD_BEFORE_LAMPS_OUT
    until_at = max(outlook.morning(catch), due_at + WINDOW_OF_USE)
    yield Duty(key, "window_opens", brood, night, due_at, due_at, until_at)


def _catch(brood: str, outlook: Outlook, night: date | None) -> Iterator[Duty]:
    if night is None:
        return
    due_at = outlook.out(night) - TOLD_BEFORE_LAMPS_OUT
    key = brood_key("catch_tonight", brood)
    yield Duty(key, "catch_tonight", brood, night, outlook.catch_at(night), due_at, outlook.morning(night))


def _lost(
    brood: str, outlook: Outlook, doubtful: bool, kept: dict[str, Duty], now: datetime
) -> Iterator[Duty]:
    key = brood_key("may_be_lost", brood)
    if key in kept and doubtful:
        yield kept[key]
    elif doubtful and outlook.lost >= LOST_FROM:
        tonight = outlook.nights[0].night
        due_at = now if now < outlook.out(tonight) else outlook.morning(tonight)
        yield Duty(key, "may_be_lost", brood, tonight, due_at, due_at, due_at + LOST_OF_USE)


def _loose(
    brood: str, looks: Sequence[Look], marks: Sequence[Mark], zone: ZoneInfo, now: datetime
) -> Iterator[Duty]:
    nights: dict[date, list[datetime]] = {}
    for look in looks:
        if look.loose_fry == "seen" and not look.recalled and look.at + LOOSE_OF_USE > now:
            nights.setdefault(night_of(look.at, zone), []).append(look.at)
    for night, seen in nights.items():
        key = night_key("fry_loose", brood, night)
        handled = [m.at for m in marks if m.what == "loose_fry_handled" or (m.what == "done" and m.duty == key)]
        before = max((at for at in handled if at < max(seen)), default=None)
        first = min(at for at in seen if before is None or at > before)
        done_at = min((at for at in handled if at >= max(seen)), default=None)
        yield Duty(key, "fry_loose", brood, night, first, first, first + LOOSE_OF_USE, done_at=done_at)
