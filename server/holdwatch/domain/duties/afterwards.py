"""Plans what is owed to a male once his brood is over, and to the water he was caught from.

Assumptions of this plan; where no source is named it is common practice, no source:
- *pumps on*: half an hour after he was caught; a tank without flow has too little air by the morning.
- *parted*: on the next morning, from the female that would have him hold again at once; with it small meals begin.
- *eating*: three days after the end; who does not eat by then wants a vet's word (from memory). A meal that he took,
  and that was written down, is the answer.
- *condition*: after the ten days of small meals, belly and fins by day.
- *rest over*: thirty days after the end, when he may be paired again if his condition is back; at the earliest, not
  in any case.
- *paired again*: at the next feeding of an evening after somebody said that he has rested; of use for a week. Where it
  was left out that he rests, nobody is asked to pair him.
Where the clutch lies in a nest nobody fasts and nobody is parted. What people have heard of stands, however the end is
dated afterwards; once he holds again, none of this is asked for.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from .claims import Mark
from .duty import Duty, Kind, brood_key
from .outlook import Lamps

ENDS = ("caught", "released", "lost")
PUMPS_ON_AFTER = timedelta(minutes=30)
PUMPS_ON_OF_USE = timedelta(hours=12)
PARTED_OF_USE = timedelta(days=3)
EATING_AFTER = timedelta(days=3)
SMALL_MEALS = timedelta(days=10)
# Whoever has not seen to it by then is not nagged about it every evening.
CHECK_OF_USE = timedelta(days=3)
PAIRING_OF_USE = timedelta(days=7)
REST = timedelta(days=30)


@dataclass(frozen=True)
class Over:
    """How and when a brood ended.

    `meals` are when he was seen to eat, `holds_again` whether he has a brood anew, `rested_at` when somebody said that
    he has rested.
    """

    how: str
    at: datetime
    meals: tuple[datetime, ...] = ()
    holds_again: bool = False
    rested_at: datetime | None = None


def planned_afterwards(
    brood: str, over: Over, lamps: Lamps, nest: bool, kept: Mapping[str, Duty], now: datetime
) -> Iterator[Duty]:
    """The duties that are still of use at `now`; `kept` are those that stand, without what people said of them."""
    for duty in _wanted(brood, over, lamps, nest):
        before = kept.get(duty.key)
        stands = before if before is not None and before.tell_at <= now else duty
        if stands.until_at > now:
            yield _eaten(stands, over)


def _wanted(brood: str, over: Over, lamps: Lamps, nest: bool) -> Iterator[Duty]:
    if over.how == "caught":
        yield _duty("pumps_on", brood, over.at + PUMPS_ON_AFTER, PUMPS_ON_OF_USE, lamps)
    if nest or over.holds_again or over.how not in ENDS:
        return
    yield _duty("part_pair", brood, lamps.morning(lamps.night_of(over.at)), PARTED_OF_USE, lamps)
    yield _duty("eating_again", brood, lamps.feeding(lamps.night_of(over.at + EATING_AFTER)), CHECK_OF_USE, lamps)
    yield _duty("condition_check", brood, lamps.feeding(lamps.night_of(over.at + SMALL_MEALS)), CHECK_OF_USE, lamps)
    yield _duty("rest_over", brood, lamps.feeding(lamps.night_of(over.at + REST)), CHECK_OF_USE, lamps)
    if over.rested_at is not None:
        night = lamps.night_of(over.rested_at)
        at = next(at for days in range(2) if (at := lamps.feeding(night + timedelta(days))) > over.rested_at)
        yield _duty("pair_again", brood, at, PAIRING_OF_USE, lamps)


def _duty(kind: Kind, brood: str, at: datetime, of_use: timedelta, lamps: Lamps) -> Duty:
    return Duty(brood_key(kind, brood), kind, brood, lamps.night_of(at), at, at, at + of_use)


def rested_at(brood: str, marks: Iterable[Mark]) -> datetime | None:
    """When somebody first said that he has rested: that this duty is done, and not that it may be left out."""
    key = brood_key("rest_over", brood)
    return min((mark.at for mark in marks if (mark.duty, mark.what) == (key, "done")), default=None)


def _eaten(duty: Duty, over: Over) -> Duty:
    meals = [at for at in over.meals if over.at < at < duty.until_at]
    return replace(duty, done_at=min(meals, default=None)) if duty.kind == "eating_again" else duty
