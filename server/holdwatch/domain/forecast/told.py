"""The forecast as it is told: every answer about one brood in one value.

Readings the page leaves open, decided here: after a catch the chances are those at the catch, and there is neither a
table of nights nor a grid of chances.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from holdwatch.domain.catch import recommended
from holdwatch.domain.forecast.answers import Chances, Quantiles, chances_at, quantiles
from holdwatch.domain.forecast.belief import Belief, believe
from holdwatch.domain.forecast.contradiction import Conflict, Doubt, contradictions, foretold_by_the_others
from holdwatch.domain.forecast.evidence import Evidence
from holdwatch.domain.forecast.glass import IfSeen, look_ahead
from holdwatch.domain.forecast.influence import Influence, influences
from holdwatch.domain.forecast.looking import NextLook, Outlook
from holdwatch.domain.forecast.nights import NightChances, night_table, night_worths
from holdwatch.domain.forecast.plans import Plan, plans_compared
from holdwatch.domain.forecast.prior import Learned
from holdwatch.domain.forecast.sight import Sight
from holdwatch.domain.species import Profile

GRID_STEP, GRID_STEPS = timedelta(hours=6), 57


@dataclass(frozen=True)
class Disagreement:
    """A part of one evening of which people saw different things."""

    look: str
    part: str
    values: tuple[str, ...]


@dataclass(frozen=True)
class GridPoint:
    """The six chances at one instant of the coming 14 days."""

    at: datetime
    chances: Chances


@dataclass(frozen=True)
class Forecast:
    """All that is believed of one brood at `made_at`; `zone` is that of its tank, instants are in UTC."""

    made_at: datetime
    zone: str
    spawned: Quantiles
    silver: Quantiles
    hatched: Quantiles
    released: Quantiles
    released_last: Quantiles
    now: Chances
    grid: tuple[GridPoint, ...]
    nights: tuple[NightChances, ...]
    catch: NightChances | None
    conflict: Conflict | None
    not_believed: tuple[Doubt, ...]
    disagreements: tuple[Disagreement, ...]
    influences: tuple[Influence, ...]
    next_look: NextLook | None
    if_seen: tuple[IfSeen, ...]
    plans: tuple[Plan, ...]
    learned: Learned | None
    rough: bool
    points: int
    effective_points: float


def forecast(
    evidence: Evidence, profile: Profile, announced: date | None = None, learned: Learned | None = None
) -> Forecast:
    """Return the forecast of a brood.

    `announced` is the night already told to people, kept for a gain under 0.01; `learned` is what the household's
    finished broods have taught, where the books alone are not to be the start.
    """
    belief = believe(evidence, profile, learned)
    looks, worths = tuple(foretold_by_the_others(belief, profile)), tuple(night_worths(belief, evidence, profile))
    nights = night_table(belief, worths)
    catch = _catch(nights, announced)
    conflict, not_believed = contradictions(looks, profile)
    next_look, if_seen = look_ahead(Outlook(belief, evidence, profile, worths), catch, announced)
    return Forecast(
        made_at=evidence.now,
        zone=evidence.tank.zone,
        spawned=quantiles(belief, "spawn"),
        silver=quantiles(belief, "silver"),
        hatched=quantiles(belief, "hatch"),
        released=quantiles(belief, "released"),
        released_last=quantiles(belief, "released_last"),
        now=chances_at(belief, [evidence.end()])[0],
        grid=() if evidence.ended() else _grid(belief, evidence.now),
        nights=nights,
        catch=catch,
        conflict=conflict,
        not_believed=not_believed,
        disagreements=tuple(_disagreements(belief.sights)),
        influences=influences(belief, looks, worths),
        next_look=next_look,
        if_seen=if_seen,
        plans=plans_compared(belief, worths, nights, catch, evidence.tank.company, profile),
        learned=learned,
        rough=belief.rough,
        points=belief.points,
        effective_points=belief.effective_points,
    )


def _grid(belief: Belief, now: datetime) -> tuple[GridPoint, ...]:
    instants = [now.astimezone(UTC) + GRID_STEP * step for step in range(GRID_STEPS)]
    return tuple(GridPoint(*one) for one in zip(instants, chances_at(belief, instants), strict=True))


def _catch(nights: Iterable[NightChances], announced: date | None) -> NightChances | None:
    nights = tuple(nights)
    best = recommended([night.prospect() for night in nights], announced)
    return next((night for night in nights if best and night.night == best.night.date), None)


def _disagreements(sights: Iterable[Sight]) -> Iterable[Disagreement]:
    for sight in sights:
        for finding in sight.evening.findings if sight.evening else ():
            if finding.disagrees():
                yield Disagreement(sight.id, finding.part, finding.every_value)
