"""Plans a brood's duties anew in the transaction that issues its forecast, and tells phones of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict
from datetime import date, datetime, time
from typing import Any, Protocol
from zoneinfo import ZoneInfo

import sqlalchemy as sa

from ...domain.duties import (
    Duty,
    LookAhead,
    Mark,
    Outlook,
    Over,
    Planned,
    Prospects,
    Supply,
    Watched,
    planned,
    planned_first_food,
)
from ...domain.species import IN_THE_MOUTH, NEST, Rearing
from ...records.instants import from_milliseconds, instant_text, parse_instant
from ..access import Departures, departures
from ..derived import put_derived
from ..lamps import lamps_of
from ..looks import looks_of
from ..recomputing import ask_for_broods
from ..sync.stored import Stored
from .kept import Kept, owed_to, read_kept, renewed, was_told, withdraw, write_kept
from .supplies import set_going, tin_of

CLAIMS = ("taken", "handed_back", "done", "later", "skipped", "loose_fry_handled")
ATE, MISTAKE, FOOD = "ate", "mistake", "first_food"
HOLDING = ("eggs", "eyed", "held_young", "releasing")
Body = dict[str, Any]


class Told(Protocol):
    """As much of a brood's story as a plan needs."""

    @property
    def brood(self) -> Stored: ...
    @property
    def tank(self) -> Stored: ...
    @property
    def looks(self) -> Sequence[Stored]: ...
    @property
    def unsure(self) -> Sequence[Stored]: ...
    @property
    def marks(self) -> Sequence[Stored]: ...
    def ended(self) -> str | None: ...
    @property
    def feedings(self) -> Sequence[Stored]: ...
    @property
    def earlier(self) -> Sequence[Stored]: ...
    @property
    def earlier_catches(self) -> Sequence[Stored]: ...
    def ended_at(self) -> datetime | None: ...
    def taken_away(self) -> str | None: ...


def plan(
    db: sa.Connection,
    household_id: str,
    story: Told,
    forecast: Mapping[str, Any],
    now: datetime,
    rearing: Rearing | None = None,
) -> Body:
    """Store the duties that follow from the story and its forecast; what comes down to phones.

    Runs in a transaction that has raised the household's revision. Planning again is harmless. `rearing` is what the
    young will want, where the species is known.
    """
    before = read_kept(db, household_id, story.brood.id)
    standing = [one.duty for one in before.values() if not one.withdrawn]
    zone = story.tank.value("zone") or "UTC"
    nest = forecast.get("way") == NEST
    watched = _watched(story, departures(db, household_id), zone, nest)
    ahead = outlook(forecast)
    others = [duty for duty in standing if duty.kind != FOOD]
    duties = () if story.taken_away() else planned(watched, ahead, others, now)
    if rearing is not None and not story.taken_away():
        started = set_going(db, household_id, [story.brood.id], rearing.first_food, now)
        supply = Supply(rearing, tin_of(db, household_id), started)
        duties += tuple(planned_first_food(watched, ahead, supply, _foods(db, household_id, standing), now))
    if watched.ended in (None, MISTAKE):
        # He holds again, so nothing of what he was owed after the last time is asked for any more; or he never did.
        is_withdrawn = watched.ended == MISTAKE
        ask_for_broods(db, owed_to(db, household_id, [other.id for other in story.earlier], is_withdrawn, now), now)
    return keep_plan(db, household_id, story.brood.id, before, duties, zone, now)


def _foods(db: sa.Connection, household_id: str, standing: Sequence[Duty]) -> list[Planned]:
    """What stands of the first food, and whether anybody was told of it."""
    return [Planned(duty, was_told(db, household_id, duty.key)) for duty in standing if duty.kind == FOOD]


def keep_plan(
    db: sa.Connection,
    household_id: str,
    about: str,
    before: Mapping[str, Kept],
    duties: Sequence[Duty],
    zone: str,
    now: datetime,
) -> Body:
    """Put these duties of a brood or a tank in the place of those before; what comes down to phones."""
    after = [renewed(duty, before.get(duty.key), zone) for duty in duties]
    write_kept(db, household_id, [one for one in after if one != before.get(one.duty.key)])
    standing = {key for key, one in before.items() if not one.withdrawn and one.duty.until_at > now}
    left = standing - {duty.key for duty in duties}
    if left:
        withdraw(db, household_id, sorted(left), now)
    body = {"duties": [_shown(one) for one in after if one.duty.until_at > now]}
    put_derived(db, household_id, "duties", about, body)
    return body


def outlook(forecast: Mapping[str, Any]) -> Outlook | None:
    """What the plan needs of a forecast as it comes down to phones; None where none could be made."""
    if forecast.get("error") or not forecast.get("nights"):
        return None
    catch = forecast["catch"]
    return Outlook(
        zone=ZoneInfo(forecast["zone"]),
        lamps_out=time.fromisoformat(forecast["lamps_out"]),
        lamps_on=time.fromisoformat(forecast["lamps_on"]),
        nights=tuple(_prospects(night) for night in forecast["nights"]),
        hatch_q05=parse_instant(forecast["hatched"]["q05"]),
        hatch_q10=parse_instant(forecast["hatched"]["q10"]),
        lost=forecast["now"]["lost"],
        catch=date.fromisoformat(catch["night"]) if catch else None,
        way=forecast.get("way") or IN_THE_MOUTH,
        next_look=_look_ahead(forecast.get("next_look")),
        hatched=quantiles(forecast["hatched"]),
    )


def quantiles(told: Mapping[str, str]) -> tuple[tuple[float, datetime], ...]:
    """The quantiles of a forecast, by their chance: of `q05` it is 0.05."""
    return tuple(sorted((int(name[1:]) / 100, parse_instant(at)) for name, at in told.items()))


def _look_ahead(told: Mapping[str, Any] | None) -> LookAhead | None:
    return LookAhead(date.fromisoformat(told["night"]), parse_instant(told["at"]), told["light"]) if told else None


def _prospects(night: Mapping[str, Any]) -> Prospects:
    return Prospects(date.fromisoformat(night["night"]), sum(night[state] for state in HOLDING))


def _watched(story: Told, left: Departures, zone: str, nest: bool) -> Watched:
    looks, unsure = tuple(looks_of(story.looks)), tuple(looks_of(story.unsure))
    lamps = lamps_of(story.tank, zone)
    claims = tuple(claims_in(story.marks, left))
    return Watched(story.brood.id, story.ended(), lamps, looks, claims, unsure, nest, _over(story))


def _over(story: Told) -> Over | None:
    how, at = story.ended(), story.ended_at()
    if how is None or at is None:
        return None
    ate = [record.value("at") for record in story.feedings if record.value("took") == ATE and not record.value("gone")]
    seen = (look.at for look in looks_of(story.looks) if look.food == ATE and not look.recalled)
    meals = (*(parse_instant(text) for text in ate if text), *seen)
    caught = {mark.value("about") for mark in story.earlier_catches}
    others = [other for other in story.earlier if other.id not in caught and _began_after(other, at)]
    return Over(how, at, meals, any(not other.value("ended") and not other.value("gone") for other in others))


def _began_after(brood: Stored, at: datetime) -> bool:
    """Whether it was written down as one that came later; one that nobody ever closed says nothing of today."""
    written = brood.value("at")
    return written is None or parse_instant(written) > at


def claims_in(records: Sequence[Stored], left: Departures) -> Iterator[Mark]:
    """What these marks say of duties; what somebody had taken on who left the household is anybody's again."""
    for record in records:
        if record.value("what") in CLAIMS:
            stamp = record.fields["what"].stamp
            at = record.value("at")
            made = parse_instant(at) if at else from_milliseconds(int(stamp[:13]))
            until = record.value("until")
            put_off = parse_instant(until) if until else None
            mark = Mark(record.value("what"), record.value("duty") or "", record.author, made, stamp, put_off)
            if mark.what != "taken" or not _was_left(mark, left):
                yield mark


def _was_left(mark: Mark, left: Departures) -> bool:
    until = left.get(mark.person, mark.at)
    return until is None or mark.at < until


def _shown(one: Kept) -> Body:
    duty = one.duty
    return {
        "key": duty.key,
        "kind": duty.kind,
        "brood": duty.brood,
        "night": duty.night.isoformat(),
        "due_at": instant_text(duty.due_at),
        "until_at": instant_text(duty.until_at),
        "version": one.version,
        "taken_by": duty.taken_by,
        "done_at": instant_text(duty.done_at) if duty.done_at else None,
        "skipped": duty.skipped,
        "was_due_at": instant_text(one.was_due_at) if one.was_due_at else None,
        "amount": asdict(duty.amount) if duty.amount else None,
    }
