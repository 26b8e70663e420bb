"""What a plan must know of the forecast: the evenings, the hatch, the night to catch, and the chance of a loss."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from ..catch import FED_BEFORE_LAMPS_OUT, catch_instant, lamps_on_instant, lamps_out_instant, night_of
from ..looks import DIM_WHITE, Look
from ..species import IN_THE_MOUTH

WHITE_LIGHT_UP_TO = DIM_WHITE
APART = timedelta(hours=12)


@dataclass(frozen=True)
class Lamps:
    """When a tank's lamps go out and come on, by the clock of its zone."""

    zone: ZoneInfo
    out_at: time
    on_at: time

    def night_of(self, at: datetime) -> date:
        """The date of the night that is or comes next at an instant."""
        return night_of(at, self.zone, self.out_at, self.on_at)

    def out(self, night: date) -> datetime:
        """When they go out on `night`, in UTC."""
        return lamps_out_instant(night, self.zone, self.out_at)

    def are_lit(self, at: datetime) -> bool:
        """Whether they are on at an instant."""
        return at < self.out(self.night_of(at))

    def next_light(self, at: datetime) -> datetime:
        """The instant itself where they are lit, else when they come on."""
        return at if self.are_lit(at) else self.morning(self.night_of(at))

    def feeding(self, night: date) -> datetime:
        """When the evening's feeding on `night` is, in UTC."""
        return self.out(night) - FED_BEFORE_LAMPS_OUT

    def morning(self, night: date) -> datetime:
        """When they come on after `night`, in UTC."""
        return lamps_on_instant(night, self.zone, self.out_at, self.on_at)


@dataclass(frozen=True)
class Prospects:
    """One night, and the chance that he still holds anything then."""

    night: date
    holding: float


@dataclass(frozen=True)
class LookAhead:
    """A look worth its disturbance: on which night, when, and under which light."""

    night: date
    at: datetime
    light: str


@dataclass(frozen=True)
class Outlook:
    """A forecast as far as a plan needs it; `nights` begins with the one whose lamps-on is still to come.

    `way` is how the species breeds, and so what is done on the night; `next_look` is the look that it asks for.
    """

    zone: ZoneInfo
    lamps_out: time
    lamps_on: time
    nights: tuple[Prospects, ...]
    hatch_q05: datetime
    hatch_q10: datetime
    lost: float
    catch: date | None
    way: str = IN_THE_MOUTH
    next_look: LookAhead | None = None
    hatched: tuple[tuple[float, datetime], ...] = ()
    """Quantiles of hatching, by their chance."""

    def out(self, night: date) -> datetime:
        """When the lamps go out on `night`, in UTC."""
        return lamps_out_instant(night, self.zone, self.lamps_out)

    def catch_at(self, night: date) -> datetime:
        """When to catch him on `night`, in UTC."""
        return catch_instant(night, self.zone, self.lamps_out)

    def morning(self, night: date) -> datetime:
        """When the lamps come on after `night`, in UTC."""
        return lamps_on_instant(night, self.zone, self.lamps_out, self.lamps_on)


def surely_empty(looks: Sequence[Look]) -> bool:
    """Whether two agreeing looks 12 h apart, one of them in white light, found nothing in his mouth."""
    run = _since_he_held(looks)
    white = [look for look in run if look.light_class() <= WHITE_LIGHT_UP_TO]
    return any(abs(one.at - other.at) >= APART for one in white for other in run)


def _since_he_held(looks: Sequence[Look]) -> list[Look]:
    """The looks that found nothing, after the last one that found something."""
    run: list[Look] = []
    for look in sorted(looks, key=lambda look: (look.at, look.id)):
        if look.recalled:
            continue
        if _holds(look):
            run = []
        elif _empty(look):
            run.append(look)
    return run


def _empty(look: Look) -> bool:
    """Whether it found nothing; where the clutch lies in a nest, the mouth of who guards it says nothing."""
    return look.clutch == "gone" if look.clutch else look.mouth == "normal" or look.eggs == "none"


def _holds(look: Look) -> bool:
    if look.clutch:
        return look.clutch == "there"
    return look.mouth in ("full", "smaller") or look.eggs in ("orange", "turning", "silver") or look.tails == "seen"
