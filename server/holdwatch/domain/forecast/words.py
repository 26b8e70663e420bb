"""The forecast in plain words, for a terminal or a page of print: calm, short, sure of what is sure."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from itertools import pairwise
from zoneinfo import ZoneInfo

from holdwatch.domain.forecast.answers import Chances, Quantiles
from holdwatch.domain.forecast.nights import NightChances
from holdwatch.domain.forecast.plans import AHEAD
from holdwatch.domain.forecast.told import Forecast
from holdwatch.domain.species import AT_HATCHING, NEST, Profile

INSIDE = {
    "eggs": "eggs, not yet silver",
    "eyed": "silver eggs, not yet hatched",
    "held_young": "hatched, still in his mouth",
    "releasing": "letting them go",
    "released": "all let go",
    "lost": "the brood is lost",
}
INSIDE_UNTIL_DARK = INSIDE | {"released": "hatched"}
# The columns of the table of nights. Where hatching is the release, nothing is held or let go after it.
COLUMNS = {
    "eggs": "eggs",
    "eyed": "eyed",
    "held_young": "young",
    "releasing": "letting go",
    "released": "let go",
    "lost": "lost",
}
COLUMNS_UNTIL_DARK = {"eggs": "eggs", "eyed": "eyed", "released": "hatched", "lost": "lost"}
# What is done on a hatch night; a male that lets go at hatching is never netted and made to spit.
ACTS = {
    AT_HATCHING: (
        "  Move him to a vessel of his own one or two evenings ahead; there he lets them go after dark.",
        "  Never net him and make him spit: what he holds until then are eggs.",
    ),
    NEST: (
        "  Full darkness from lamps-out, no red lamp either: light keeps them from hatching.",
        "  Collect the larvae at the nest after dark.",
    ),
}
LIGHT_WORDS = {"daylight": "at the feeding, by day light", "red": "under dim red light"}
PART_WORDS = {"loose_fry": "loose fry"}
WORTH_A_LINE = 0.005
NIGHTS_SHOWN = 10


def in_words(told: Forecast, profile: Profile) -> str:
    """Return the forecast as text in the local time of the tank, ending in a line break."""
    zone = ZoneInfo(told.zone)
    parts = (
        [f"{profile.common_name} ({profile.species})", f"as known {_when(told.made_at, zone)}, {told.zone}"],
        ["Inside now", *_inside(told.now, INSIDE_UNTIL_DARK if profile.hatches_after_dark() else INSIDE)],
        ["The window                    earliest      likely        latest", *_window(told, profile, zone)],
        ["The hatch night" if profile.hatches_after_dark() else "The night to catch", *_advice(told, profile, zone)],
        _next_look(told, zone),
        _night_rows(told, profile, zone),
        _warnings(told),
    )
    return "\n\n".join("\n".join(lines) for lines in map(list, parts) if lines) + "\n"


def _inside(now: Chances, names: Mapping[str, str]) -> Iterator[str]:
    ranked = sorted(now._asdict().items(), key=lambda state: -state[1])
    for state, chance in ranked:
        if chance >= WORTH_A_LINE:
            yield f"  {chance:>5.0%}  {_bar(chance)}  {names[state]}"


def _bar(chance: float) -> str:
    return ("█" * round(20 * chance)).ljust(20, "·")


def _window(told: Forecast, profile: Profile, zone: ZoneInfo) -> Iterator[str]:
    steps = [("spawned", told.spawned), ("silver", told.silver), ("hatched", told.hatched)]
    if not profile.hatches_after_dark():
        steps += [("first young let go", told.released), ("last young let go", told.released_last)]
    for name, when in steps:
        yield f"  {name:<28}" + "  ".join(_day(at, zone) for at in _three(when)).rstrip()


def _three(when: Quantiles) -> tuple[datetime, datetime, datetime]:
    return when.q05, when.q50, when.q95


def _advice(told: Forecast, profile: Profile, zone: ZoneInfo) -> Iterator[str]:
    if not told.nights:
        yield "  He has been caught: this brood is over."
    elif told.catch is None:
        yield "  None: hardly anything is left to save."
    else:
        yield f"  {_night_name(told.catch, told.nights, zone)}, saving about {told.catch.saved:.0%} of the clutch."
        yield from _neighbours(told.catch, told.nights, zone)
        yield from ACTS.get(profile.way, ())
        for plan in told.plans:
            if plan.way == AHEAD:
                yield f"  Or move him ahead, {plan.night.date:%a %d %b}, to let them go alone: about {plan.saved:.0%}."


def _night_name(night: NightChances, nights: Sequence[NightChances], zone: ZoneInfo) -> str:
    evening = f"{night.night:%a %d %b}"
    prefix = "Tonight, " if night == nights[0] else ""
    return f"{prefix}the night that begins {evening}, at {night.at.astimezone(zone):%H:%M}"


def _neighbours(catch: NightChances, nights: Sequence[NightChances], zone: ZoneInfo) -> Iterator[str]:
    """Yield what one night earlier and one night later cost."""
    for earlier, later in pairwise(nights):
        if later == catch:
            yield f"  One night earlier {_difference(earlier.saved - catch.saved)}."
        if earlier == catch:
            yield f"  One night later {_difference(later.saved - catch.saved)}."


def _difference(gain: float) -> str:
    if abs(gain) < WORTH_A_LINE:
        return "is as good"
    return f"{'costs' if gain < 0 else 'saves'} about {abs(gain):.0%} of the clutch{'' if gain < 0 else ' more'}"


def _next_look(told: Forecast, zone: ZoneInfo) -> Iterator[str]:
    if told.next_look:
        look = told.next_look
        when = f"{look.chance.at.astimezone(zone):%a %d %b, %H:%M}"
        yield "The next look worth its disturbance"
        yield f"  {when}, {LIGHT_WORDS[look.chance.light]}. Look for: {_part(look.look_for)}."


def _night_rows(told: Forecast, profile: Profile, zone: ZoneInfo) -> Iterator[str]:
    columns, act = (COLUMNS_UNTIL_DARK, "hatch night") if profile.hatches_after_dark() else (COLUMNS, "catch")
    wide = {state: max(len(name), 5) for state, name in columns.items()}
    if told.nights:
        yield "Night        at     saved" + "".join(f"  {name:>{wide[state]}}" for state, name in columns.items())
    for night in told.nights[: _rows_shown(told)]:
        chances = night.chances._asdict()
        mark = f"  <- {act}" if told.catch and night.night == told.catch.night else ""
        row = "".join(f"  {chances[state]:>{wide[state]}.0%}" for state in columns)
        yield f"{night.night:%a %d %b}   {night.at.astimezone(zone):%H:%M}  {night.saved:>5.0%}{row}{mark}"


def _rows_shown(told: Forecast) -> int:
    """Return how many nights are worth a row: up to a few past the one to catch, at least ten."""
    caught = [index for index, night in enumerate(told.nights) if told.catch and night.night == told.catch.night]
    return max([NIGHTS_SHOWN, *(index + 4 for index in caught)])


def _warnings(told: Forecast) -> Iterator[str]:
    if told.conflict:
        seen = ", ".join(f"{_part(part)} {' and '.join(values)}" for part, values in told.conflict.seen)
        yield f"Look {told.conflict.look} ({seen}) contradicts all the others: one of them is wrong."
    for doubt in told.not_believed:
        yield f"Hardly believed: {_part(doubt.part)} {' and '.join(doubt.values)} (look {doubt.look})."
    for odd in told.disagreements:
        yield f"People saw different things: {_part(odd.part)} {', '.join(odd.values)} (look {odd.look})."
    if told.rough:
        yield "These figures are rough: too few of the possible broods fit what was seen."


def _part(name: str) -> str:
    return PART_WORDS.get(name, name)


def _when(at: datetime, zone: ZoneInfo) -> str:
    return f"{at.astimezone(zone):%a %d %b %Y, %H:%M}"


def _day(at: datetime, zone: ZoneInfo) -> str:
    return f"{at.astimezone(zone):%a %d %b}".ljust(12)
