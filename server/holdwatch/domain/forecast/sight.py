"""What the looks say about each possible brood: the chance of an evening's findings if he holds, and if he does not.

Findings that follow the state alone are one product of six numbers, one a state, spread over the points at once.
Colour follows x/E and tails the days since hatching; their chances are made point by point. The chance of readings
that several people made under the same light is the geometric mean of theirs.

Readings the page leaves open, decided here: of a catch the most advanced count says what had happened (any young let
go: the release had begun; else any young with yolk: hatched and held; else any eggs: not hatched); a catch that
brought up nothing fits a male who holds nothing.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from holdwatch.domain.clock import days_between
from holdwatch.domain.forecast.evidence import Catch, Evidence
from holdwatch.domain.forecast.steps import Course, Steps
from holdwatch.domain.looks import (
    EMPTY,
    EYED,
    HATCHED,
    ORANGE,
    RELEASED,
    RELEASING,
    VALUES,
    Evening,
    Finding,
    chances_by_state,
    colour_form,
    colour_steps,
    merged,
    tails_form,
    tails_shown,
)
from holdwatch.domain.species import Profile, Seen


# So that a logarithm can be taken where there is nothing to show; such points are not read.
LEAST_CHANCE = 1e-300


@dataclass(frozen=True)
class Sight:
    """The findings of one evening (or a catch) at `at` days since the origin.

    `by_state` (2, 6) is the chance of all findings that follow the state alone, for males who never show tails and
    for those who do; `eggs` and `tails` are the findings whose chances are made point by point.
    """

    id: str
    at: float
    by_state: np.ndarray
    eggs: Finding | None = None
    tails: Finding | None = None
    evening: Evening | None = None

    def empty(self) -> float:
        """Return the chance of the findings if he holds nothing, the same for every point."""
        return float(self.by_state[0, EMPTY])


@dataclass(frozen=True)
class Glimpse:
    """What n broods have to show at one sight, where it was asked.

    `state` (n) if not lost; `colours` (2, n), the steps of the ordered probit; `tails` (n), the chance that tails
    show, 0 where there are none.
    """

    state: np.ndarray
    colours: np.ndarray | None
    tails: np.ndarray | None


def glimpse(sight: Sight, steps: Steps, seen: Seen) -> Glimpse:
    """Return what each brood has to show at a sight."""
    state = steps.state(sight.at)
    colours = tails = None
    if sight.eggs:
        colours = colour_steps(steps.share_to_silver(sight.at), sight.eggs.light_class, seen)
    if sight.tails:
        shown = tails_shown(np.maximum(0, sight.at - steps.hatch), sight.tails.light_class, seen)
        tails = shown * ((state == HATCHED) | (state == RELEASING))
    return Glimpse(state, colours, tails)


def chances(sight: Sight, shown: Glimpse, seen: Seen) -> np.ndarray:
    """Return the chance of the findings if the brood is not lost, shape (2, n), or (1, n) if no tails were asked."""
    alive = np.take(sight.by_state if sight.tails else sight.by_state[:1], shown.state, axis=1)
    if sight.tails and shown.tails is not None:
        tails = _read(tails_form(seen), shown.tails[None], sight.tails)
        alive[1] *= np.where(shown.tails > 0, tails, 1.0)
    if sight.eggs and shown.colours is not None:
        colours = _read(colour_form(sight.eggs.light_class, seen), shown.colours, sight.eggs)
        alive *= np.where((shown.state > EMPTY) & (shown.state < RELEASED), colours, 1.0)
    return alive


def _read(form: np.ndarray, shown: np.ndarray, finding: Finding) -> np.ndarray:
    """Return the chance of a finding; `form` (values, 1 + k) makes it of 1 and what is shown (k, n)."""
    return _geometric_mean([_linear(form[VALUES[finding.part].index(value)], shown) for value in finding.told()])


def _linear(weights: np.ndarray, shown: np.ndarray) -> np.ndarray:
    chance = np.full(shown.shape[1], weights[0])
    for weight, step in zip(weights[1:], shown, strict=True):
        if weight:
            chance += weight * step
    return chance


def _geometric_mean(chances: Sequence[np.ndarray]) -> np.ndarray:
    if len(chances) == 1:
        return chances[0]
    return np.exp(np.mean(np.log(np.maximum(chances, LEAST_CHANCE)), axis=0))


def sights(evidence: Evidence, profile: Profile, course: Course) -> tuple[Sight, ...]:
    """Return the evenings up to the end of the brood, and its catch as the last, in order of time."""
    looks = [look for look in evidence.looks if days_between(look.at, evidence.end()) >= 0]
    seen = tuple(_sight(evening, profile.seen, course) for evening in merged(looks))
    return (*seen, _caught(evidence.catch, profile.seen, course)) if evidence.catch else seen


def _sight(evening: Evening, seen: Seen, course: Course) -> Sight:
    findings = {finding.part: finding for finding in evening.findings}
    eggs, tails = findings.get("eggs"), findings.get("tails")
    by_state = np.stack([_by_state(evening.findings, seen, shows) for shows in (False, True)])
    return Sight(evening.id, days_between(course.origin, evening.at), by_state, eggs, tails, evening)


def _by_state(findings: Sequence[Finding], seen: Seen, shows: bool) -> np.ndarray:
    """Return the product over findings of their chance in each state, 1 where it is made point by point."""
    product = np.ones(6)
    for finding in findings:
        values = chances_by_state(finding.part, finding.light_class, seen).T
        chance = _geometric_mean([values[VALUES[finding.part].index(value)] for value in finding.told()])
        product = product * np.where(_by_points(finding.part, shows), 1.0, chance)
    return product


def _by_points(part: str, shows: bool) -> np.ndarray:
    """Return in which states the chance of `part` is made point by point."""
    states: Iterable[int] = ()
    if part == "eggs":
        states = (ORANGE, EYED, HATCHED, RELEASING)
    elif part == "tails" and shows:
        states = (HATCHED, RELEASING)
    return np.isin(np.arange(6), list(states))


def _caught(catch: Catch, seen: Seen, course: Course) -> Sight:
    fitting = np.isin(np.arange(6), _states_caught(catch))
    by_state = np.where(fitting, seen.catch.fits, 1 - seen.catch.fits)
    return Sight("the catch", days_between(course.origin, catch.at), np.stack([by_state, by_state]))


def _states_caught(catch: Catch) -> tuple[int, ...]:
    if catch.free:
        return (RELEASING, RELEASED)
    if catch.yolk:
        return (HATCHED,)
    return (ORANGE, EYED) if catch.eggs else (EMPTY, RELEASED)
