"""What reminders say, in one place; they may lie on a lock screen, so they name neither people nor fish."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Protocol
from urllib.parse import quote
from zoneinfo import ZoneInfo

from ..domain.duties import OF_A_NURSERY, Amount, Duty, Kind
from .message import DUE, MOVED, WITHDRAWN, Message

# Kind -> title and body; `{time}` is the duty's time on the wall clock by the tank.
WORDS: dict[Kind, tuple[str, str]] = {
    "look_tonight": (
        "Look at him tonight",
        "From {time}, lamps out, under dim red light: his mouth, tails, loose fry. A minute is enough.",
    ),
    "look_by_day": (
        "Look at the evening's feeding",
        "About {time}, by day light, without disturbing: the colour of the eggs tells most. A minute is enough.",
    ),
    "window_opens": (
        "Set up the nursery",
        "Hatching may begin in about two days. Fill it with water from the same tank; it wants a night to settle.",
    ),
    "catch_tonight": (
        "Catch him tonight, {time}",
        "Under dim red light. Nursery ready, pumps off, lids and lamp at hand. Open Holdwatch for what to mind.",
    ),
    "move_male": (
        "Move him tonight, {time}",
        "Calmly, in water, to a vessel of his own: he lets them go at hatching. Never net him and make him spit.",
    ),
    "collect_larvae": (
        "They may hatch tonight",
        "Full darkness from lamps-out, no red lamp either. From {time} collect the larvae at the nest.",
    ),
    "larvae_loose": (
        "Larvae are in the water",
        "Now: pumps off or intakes guarded. A small light at one corner draws them; scoop them with a cup.",
    ),
    "fry_loose": (
        "Fry are loose",
        "Now: pumps off or intakes guarded, dim light, scoop them with a cup. He may still hold the rest.",
    ),
    "may_be_lost": (
        "The clutch may be lost",
        "It is not sure. Look once more in white light, twelve hours after the last look. Until then keep every plan.",
    ),
    "pumps_on": (
        "Pumps back on?",
        "He has been caught. Pumps and flow on, lids closed, the lamp timer back to automatic.",
    ),
    "part_pair": (
        "Let him recover, apart",
        "Part him from the female, or she may have him hold again at once. Small meals for ten days.",
    ),
    "eating_again": (
        "Does he eat again?",
        "Three days since his brood ended. If he has taken nothing by now, ask a vet who knows fish.",
    ),
    "condition_check": (
        "How is his condition?",
        "Ten days of small meals are over. By day light: is his belly round, are his fins whole?",
    ),
    "rest_over": (
        "He has rested a month",
        "If belly and fins are full he may be paired again; if not, give him longer.",
    ),
    "pair_again": (
        "Pair him again",
        "If his condition is back: put them together by day light, and watch them for an hour.",
    ),
    "too_warm": (
        "The water is too warm",
        "Warmer than this species is known to live in. Look at heater, lamps and pumps; let it cool slowly.",
    ),
    "too_cold": (
        "The water is too cold",
        "Colder than this species is known to live in. Look at the heater; let it warm slowly.",
    ),
    "first_food": (
        "Set the first food going",
        "So that it is alive when the young have used up their yolk. If the hatch moves, so does this.",
    ),
    "start_food": (
        "Set a hatch going",
        "Brine shrimp for the young, to be ready in time. Mind the dust of cysts: it can set off an allergy.",
    ),
    "feed_fry": (
        "Feed the young",
        "Look at a few bellies afterwards: full, half, empty. Take out what is left over.",
    ),
    "test_water": (
        "Test the nursery's water",
        "Ammonia and pH, before the water is changed.",
    ),
    "change_water": (
        "Change the nursery's water",
        "From the bottom, slowly; the new water as warm and as salty as theirs.",
    ),
    "ammonia_high": (
        "Ammonia in the nursery",
        "The last test is beyond what young stand. Change water now, in steps, as warm and as salty; feed less.",
    ),
    "count_fry": (
        "Count the young",
        "From a photo if they do not hold still. About so many will do.",
    ),
}
# What is told so long after its time says so: the night of a catch is still dark, so it is not too late.
LATE: dict[Kind, tuple[timedelta, tuple[str, str]]] = {
    "catch_tonight": (
        timedelta(0),
        ("Catch him now", "The lamps are out. Under dim red light, pumps off. Open Holdwatch for what to mind."),
    ),
    "window_opens": (
        timedelta(days=1),
        ("Set up the nursery today", "Hatching may have begun. Fill it with water from the same tank."),
    ),
}
MORNING = "morning"
"""The kind of a morning's summary, which is no duty to do."""
LINES_OF_A_SUMMARY = 12
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
URGENT: frozenset[Kind] = frozenset(
    {
        "catch_tonight",
        "move_male",
        "collect_larvae",
        "fry_loose",
        "larvae_loose",
        "pumps_on",
        "too_warm",
        "too_cold",
        "ammonia_high",
    }
)
ABOUT_WATER: frozenset[Kind] = frozenset({"too_warm", "too_cold"})


# What is said of a duty that was withdrawn after people had been told of it; of other kinds nothing is.
WORTH_WITHDRAWING: dict[Kind, tuple[str, str]] = {
    "catch_tonight": ("Hold off: no catch", "He need not be caught at the time that was said. Open to see why."),
    "move_male": ("Hold off: leave him where he is", "He need not be moved at the time that was said."),
    "collect_larvae": ("Hold off: nothing to collect", "No larvae are awaited at the time that was said."),
    "too_warm": ("The water is cooler again", "It is back where this species lives. See whether it stays."),
    "too_cold": ("The water is warmer again", "It is back where this species lives. See whether it stays."),
}


def message_of(duty: Duty, zone: str, now: datetime, matter: str = DUE, was_due_at: datetime | None = None) -> Message:
    """The reminder of a duty, with its time in the tank's zone.

    `matter` is what it tells: that it is due, or due again, has moved from `was_due_at`, or was withdrawn.
    """
    title, body = WORTH_WITHDRAWING[duty.kind] if matter == WITHDRAWN else _words(duty, now)
    # What is due by now need not be put off, nor be said to be sooner.
    if matter == MOVED and was_due_at is not None and duty.due_at > now:
        title, body = _moved(duty, ZoneInfo(zone), was_due_at, title)
    time = duty.due_at.astimezone(ZoneInfo(zone)).strftime("%H:%M")
    return Message(
        title=title.format(time=time),
        body=_with_amount(body.format(time=time), None if matter == WITHDRAWN else duty.amount),
        path=f"{_page(duty)}?duty={quote(duty.key, safe=':')}",
        duty=duty.key,
        brood=duty.brood,
        urgent=duty.kind in URGENT,
        until=duty.until_at,
        has_buttons=matter != WITHDRAWN,
    )


def _with_amount(body: str, amount: Amount | None) -> str:
    """How much comes first; the house's own measure is left out, for its name may be anybody's."""
    plain = _quantity(amount)
    return f"{plain}. {body}" if plain else body


def _quantity(amount: Amount | None) -> str:
    return "" if amount is None or amount.quantity is None else f"{amount.quantity:g} {amount.unit}"


def amount_words(amount: Amount | None) -> str:
    """How much, in the house's own measure first, for a page that only its person opens; "" where it is unknown."""
    if amount is None:
        return ""
    times = f"{amount.measures:g} × " if amount.measures not in (None, 1) else ""
    own = f"{times}{amount.measure}" if amount.measure else ""
    plain = _quantity(amount)
    return f"{own} ({plain})" if own and plain else own or plain


class Asked(Protocol):
    """A duty with the zone of its tank."""

    @property
    def duty(self) -> Duty: ...
    @property
    def zone(self) -> str: ...


def summary_of(own: Duty, asked: Sequence[Asked], now: datetime) -> Message:
    """The summary of a morning: what `asked` says is to be done, each at the clock of its tank; `own` is its duty."""
    lines = [_line(one.duty, ZoneInfo(one.zone), own.brood, now) for one in asked]
    more = [f"and {len(lines) - LINES_OF_A_SUMMARY} more"] if len(lines) > LINES_OF_A_SUMMARY else []
    count = {0: "Nothing left to do today", 1: "Today: one thing to do"}
    return Message(
        title=count.get(len(lines), f"Today: {len(lines)} things to do"),
        body="\n".join(lines[:LINES_OF_A_SUMMARY] + more),
        path="/",
        duty=own.key,
        brood="",
        urgent=False,
        until=own.until_at,
        has_buttons=False,
    )


def _line(duty: Duty, zone: ZoneInfo, person: str, now: datetime) -> str:
    title = WORDS[duty.kind][0].replace(", {time}", "")
    when = f"{duty.due_at.astimezone(zone):%H:%M}" if duty.due_at > now else "Now"
    return f"{when}  {title}{' (yours)' if duty.taken_by == person else ''}"


def _page(duty: Duty) -> str:
    about = quote(duty.brood, safe="")
    if duty.kind in OF_A_NURSERY:
        return f"/nursery/{about}"
    return f"/tank/{about}/temperature" if duty.kind in ABOUT_WATER else f"/brood/{about}"


def _words(duty: Duty, now: datetime) -> tuple[str, str]:
    delay, late = LATE.get(duty.kind, (timedelta.max, WORDS[duty.kind]))
    return late if now - duty.due_at > delay else WORDS[duty.kind]


def _moved(duty: Duty, zone: ZoneInfo, was_due_at: datetime, title: str) -> tuple[str, str]:
    """Later than people expect: hold off. Sooner: what is to be done, and that it is sooner."""
    now, before = (_moment(at.astimezone(zone)) for at in (duty.due_at, was_due_at))
    if duty.due_at > was_due_at:
        return f"Hold off until {now}", f"The plan has changed; it was {before}. Open to see why."
    return f"Sooner: {title}", f"On {now}, and no longer {before}. Open to see why."


def _moment(at: datetime) -> str:
    # In the one language of these words, whatever the machine's own is.
    return f"{WEEKDAYS[at.weekday()]} {at:%H:%M}"
