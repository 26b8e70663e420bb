"""Plans the duties of one brood; planning again with what stands already changes nothing.

Assumptions of this plan, none with a published source:
- *look*: every evening from two nights before the hatch's 5 % quantile until the night before the catch; before
  that every third evening after the last look, for a look costs him little but not nothing; none where he holds
  nothing any more (a chance under 0.05). Told at 30 min after lamps-out, when it is to be made; a look of the four
  hours before, at the evening's feeding say, is the evening's look, and one at noon is not.
- *window*: told on the evening two days before the hatch's 10 % quantile: brine shrimp want a day and a half to
  hatch, and a nursery filled from the same tank a night to settle. Once told it stands, however the hatch moves.
  The look that the forecast asks for is planned on its evening, at the feeding where it wants the light of day. A nest
  is looked at by day alone: it needs full darkness.
- *catch*: told once, four hours before its instant: after the day's feeding look has come in, early enough to be
  home. A night that becomes the best one later than that is told at once.
  Where the young are let go at hatching, he is moved the evening before the hatch night; at a nest the larvae are
  collected on that night.
- *loose fry*: told at once, of use for 12 h; one alarm a night, and another where fry are seen after a handling.
- *may be lost*: from a chance of 0.7 on until it falls under 0.5, so that it does not flicker; told while the lamps
  are on, or when they come on, for what it asks is a look in white light.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from ..catch import FED_BEFORE_LAMPS_OUT
from ..looks import Look
from ..species import AT_HATCHING, IN_THE_MOUTH, NEST
from .afterwards import Over, planned_afterwards, rested_at
from .claims import Mark, claimed
from .duty import LOOSE, Duty, Kind, brood_key, night_key
from .outlook import Lamps, LookAhead, Outlook, surely_empty

CLOCKS_APART = timedelta(minutes=15)
LOOK_AFTER_LAMPS_OUT = timedelta(minutes=30)
LOOKS_PLANNED_NIGHTS = 4
NEAR_HATCH = timedelta(days=2)
QUIET_EVENINGS = 3
COUNTS_BEFORE = timedelta(hours=4)
STILL_HOLDING = 0.05
TOLD_BEFORE_LAMPS_OUT = timedelta(hours=3)
WINDOW_BEFORE_HATCH = timedelta(days=2)
WINDOW_OF_USE = timedelta(days=3)
LOOSE_OF_USE = timedelta(hours=12)
LOST_FROM, LOST_UNTIL = 0.7, 0.5
LOST_OF_USE = timedelta(days=7)
MOVED_NIGHTS_AHEAD = timedelta(days=1)
ACTS: Mapping[str, Kind] = {IN_THE_MOUTH: "catch_tonight", AT_HATCHING: "move_male", NEST: "collect_larvae"}


@dataclass(frozen=True)
class Watched:
    """One brood as people wrote it down; `ended` is how it ended, None while it is under way."""

    brood: str
    ended: str | None
    lamps: Lamps
    looks: tuple[Look, ...]
    marks: tuple[Mark, ...]
    unsure: tuple[Look, ...] = ()
    """Looks at one of the males of his tank; loose fry in them may be his."""
    nest: bool = False
    """Whether the clutch lies in a nest: then loose fry are larvae in the water."""
    over: Over | None = None
    """How it ended and when, as far as both are known."""


def planned(watched: Watched, outlook: Outlook | None, standing: Sequence[Duty], now: datetime) -> tuple[Duty, ...]:
    """The brood's duties in order of their time; what stands and is not among them is withdrawn.

    `outlook` is None where no forecast can be made: what stands is kept.
    """
    if watched.ended == "mistake":
        return ()
    seen = replace(watched, looks=tuple(look for look in watched.looks if look.at <= now + CLOCKS_APART))
    found = list(_loose(seen, now))
    kept = {duty.key: _bare(duty) for duty in standing if duty.kind not in LOOSE}
    if watched.ended is None:
        found += [_looked(duty, seen) for duty in _under_way(seen, outlook, kept, now)]
    elif watched.over is not None:
        found += _acted(watched.over, kept, now)
        over = replace(watched.over, rested_at=rested_at(watched.brood, watched.marks))
        found += planned_afterwards(watched.brood, over, watched.lamps, watched.nest, kept, now)
    return tuple(sorted((claimed(duty, watched.marks) for duty in found), key=lambda duty: (duty.due_at, duty.key)))


def _acted(over: Over, kept: Mapping[str, Duty], now: datetime) -> Iterator[Duty]:
    """Whoever caught him has done what was asked for, and nobody needs to hear that it was called off."""
    for duty in kept.values():
        if over.how == "caught" and duty.kind in ACTS.values() and duty.until_at > now:
            yield replace(duty, done_at=over.at)


def _bare(duty: Duty) -> Duty:
    """A standing duty without what people said of it, which is read anew each time."""
    return replace(duty, taken_by=None, done_at=None, skipped=False, put_off=())


def _looked(duty: Duty, watched: Watched) -> Duty:
    if duty.kind not in ("look_tonight", "look_by_day"):
        return duty
    began = duty.due_at - COUNTS_BEFORE
    looks = [look for look in watched.looks if look.findings() and not look.recalled]
    done = [look.at for look in looks if began <= look.at < duty.until_at]
    return replace(duty, done_at=max(done, default=None))


def _evenings(watched: Watched) -> dict[date, datetime]:
    """The nights on which he was looked at, and the last look of each."""
    direct = [look.at for look in watched.looks if look.findings() and not look.recalled]
    return {watched.lamps.night_of(at): at for at in sorted(direct)}


def _under_way(watched: Watched, outlook: Outlook | None, kept: Mapping[str, Duty], now: datetime) -> list[Duty]:
    current = [duty for duty in kept.values() if duty.until_at > now]
    if outlook is None:
        return current
    doubtful = outlook.lost >= LOST_UNTIL and not surely_empty(watched.looks)
    catch = outlook.catch or (_standing_catch(current) if doubtful else None)
    new = [
        *_looks(watched, outlook, catch, doubtful),
        *_window(watched.brood, outlook, catch, kept, now),
        *_catch(watched.brood, outlook, catch, now),
        *_lost(watched.brood, outlook, doubtful, kept, now),
    ]
    # While a loss is only likely, nothing that stands is taken away.
    keys = {duty.key for duty in new}
    return new + [duty for duty in current if doubtful and duty.key not in keys]


def _standing_catch(current: Iterable[Duty]) -> date | None:
    return next((duty.night for duty in current if duty.kind in ("catch_tonight", "collect_larvae")), None)


def _looks(watched: Watched, outlook: Outlook, catch: date | None, doubtful: bool) -> Iterator[Duty]:
    last = max(_evenings(watched), default=None)
    for prospects in outlook.nights[:LOOKS_PLANNED_NIGHTS]:
        night, out = prospects.night, outlook.out(prospects.night)
        if catch is not None and night >= catch:
            return
        asked_for = outlook.next_look if outlook.next_look and outlook.next_look.night == night else None
        near = out + NEAR_HATCH >= outlook.hatch_q05
        if (near or asked_for or _is_third(night, last)) and (doubtful or prospects.holding >= STILL_HOLDING):
            yield _look(watched.brood, night, outlook, asked_for)


def _look(brood: str, night: date, outlook: Outlook, asked_for: LookAhead | None) -> Duty:
    out, morning = outlook.out(night), outlook.morning(night)
    by_day = outlook.way == NEST or (asked_for is not None and asked_for.light == "daylight")
    if by_day:
        at = out - FED_BEFORE_LAMPS_OUT
        return Duty(night_key("look_by_day", brood, night), "look_by_day", brood, night, at, at, morning)
    at = out + LOOK_AFTER_LAMPS_OUT
    return Duty(night_key("look_tonight", brood, night), "look_tonight", brood, night, at, at, morning)


def _is_third(night: date, last: date | None) -> bool:
    since = (night - last).days if last else night.toordinal()
    return since % QUIET_EVENINGS == 0


def _window(
    brood: str, outlook: Outlook, catch: date | None, kept: Mapping[str, Duty], now: datetime
) -> Iterator[Duty]:
    key = brood_key("window_opens", brood)
    if key in kept and kept[key].tell_at <= now:
        yield kept[key]
        return
    if catch is None:
        return
    night = (outlook.hatch_q10 - WINDOW_BEFORE_HATCH).astimezone(outlook.zone).date()
    tell_at = outlook.out(night) - TOLD_BEFORE_LAMPS_OUT
    until_at = max(outlook.morning(catch), tell_at + WINDOW_OF_USE)
    yield Duty(key, "window_opens", brood, night, tell_at, tell_at, until_at)


def _catch(brood: str, outlook: Outlook, hatch_or_catch: date | None, now: datetime) -> Iterator[Duty]:
    if hatch_or_catch is None:
        return
    kind, night = ACTS[outlook.way], hatch_or_catch
    if kind == "move_male":
        tonight = outlook.nights[0].night
        night = max(night - MOVED_NIGHTS_AHEAD, tonight)
    tell_at = outlook.out(night) - TOLD_BEFORE_LAMPS_OUT
    yield Duty(brood_key(kind, brood), kind, brood, night, outlook.catch_at(night), tell_at, outlook.morning(night))


def _lost(brood: str, outlook: Outlook, doubtful: bool, kept: Mapping[str, Duty], now: datetime) -> Iterator[Duty]:
    key = brood_key("may_be_lost", brood)
    if key in kept and doubtful:
        yield kept[key]
    elif doubtful and outlook.lost >= LOST_FROM:
        tonight = outlook.nights[0].night
        tell_at = now if now < outlook.out(tonight) else outlook.morning(tonight)
        yield Duty(key, "may_be_lost", brood, tonight, tell_at, tell_at, tell_at + LOST_OF_USE)


def _loose(watched: Watched, now: datetime) -> Iterator[Duty]:
    nights: dict[date, list[datetime]] = {}
    maybe_his = watched.unsure if watched.ended is None else ()
    for look in (*watched.looks, *maybe_his):
        if look.loose_fry == "seen" and not look.recalled and look.at <= now + CLOCKS_APART:
            nights.setdefault(watched.lamps.night_of(look.at), []).append(look.at)
    for night, seen in nights.items():
        kind: Kind = "larvae_loose" if watched.nest else "fry_loose"
        key = night_key(kind, watched.brood, night)
        first, done_at = _since_handled(seen, _handled(key, watched.marks))
        if first + LOOSE_OF_USE > now:
            until_at = first + LOOSE_OF_USE
            yield Duty(key, kind, watched.brood, night, first, first, until_at, done_at=done_at)


def _handled(key: str, marks: Sequence[Mark]) -> list[datetime]:
    return [mark.at for mark in marks if mark.what == "loose_fry_handled" or (mark.what, mark.duty) == ("done", key)]


def _since_handled(seen: Sequence[datetime], handled: Sequence[datetime]) -> tuple[datetime, datetime | None]:
    """The first sighting that a handling has not answered yet, and the handling that answers the last one."""
    last = max(seen)
    before = max((at for at in handled if at < last), default=None)
    first = min(at for at in seen if before is None or at > before)
    return first, min((at for at in handled if at >= last), default=None)
