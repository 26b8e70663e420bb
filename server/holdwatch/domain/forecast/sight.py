"""What the looks say about each possible brood: the chance of an evening's findings if he holds, and if he does not.

Findings that follow the state alone are one product of six numbers, one a state, spread over the points at once.
Colour follows x/E and tails the days since hatching; their chances are made point by point. The chance of readings
that several people made under the same light is the geometric mean of theirs.

Readings the page leaves open, decided here: of a catch the most advanced count says what had happened (any young let
go: the release had begun; else any young with yolk: hatched and held; else any eggs: not hatched); a catch that
brought up nothing fits a male who holds nothing.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from holdwatch.domain.clock import days_between
from holdwatch.domain.forecast.evidence import Catch, Ending, Evidence
from holdwatch.domain.forecast.steps import Course, Steps, bounded_exp
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
    Form,
    colour_steps,
    form,
    merged,
    tails_hidden,
    tails_shown,
)
from holdwatch.domain.species import Profile, Seen

# So that a logarithm can be taken where a value cannot be: such points are states it is not read in.
LEAST_CHANCE = 1e-300


@dataclass(frozen=True)
class Sight:
    """The findings of one evening (or a catch, or an end that was told of) at `at` days since the origin.

    `by_state` (6) is the chance of all findings that follow the state alone; `eggs` and `tails` are those whose
    chances are made point by point; `empty` is the chance of all of them if he holds nothing.
    """

    id: str
    at: float
    by_state: np.ndarray
    empty: float
    eggs: Finding | None = None
    tails: Finding | None = None
    evening: Evening | None = None


@dataclass(frozen=True)
class Glimpse:
    """What n broods have to show at one sight, where it was asked: 0 in states that have nothing to show.

    `state` (n) if not lost; `colours` (2, n), the steps of the ordered probit; `tails` (1, n), the chance that tails
    show if he lets them be seen.
    """

    state: np.ndarray
    colours: np.ndarray
    tails: np.ndarray


def glimpses(sights: Sequence[Sight], steps: Steps, seen: Seen, middle: float) -> Iterator[Glimpse]:
    """Yield what each brood has to show at each sight; `middle` is an instant in days near them.

    exp(-rate (t - hatch)) = exp(-rate (middle - hatch)) exp(-rate (t - middle)): the first factor is made once.
    """
    rate = seen.tails.rate_per_day if seen.tails else 0.0
    nothing = np.zeros((0, steps.spawn.size))
    hidden = tails_hidden(middle - steps.hatch, seen) if seen.tails else nothing
    for sight in sights:
        state = steps.state(sight.at)
        colours = _colours(sight, sight.eggs, state, steps, seen) if sight.eggs else nothing
        fading = float(bounded_exp(rate * (middle - sight.at)))
        tails = _tails(sight.tails, state, hidden * fading, seen) if sight.tails else nothing
        yield Glimpse(state, colours, tails)


def glimpse_of(at: float, asked: Sequence[Finding], steps: Steps, seen: Seen) -> Glimpse:
    """Return what each brood will have to show at a look still to come, `at` days since the origin."""
    findings = {finding.part: finding for finding in asked}
    coming = Sight("", at, np.ones(6), 1.0, findings.get("eggs"), findings.get("tails"))
    return next(glimpses([coming], steps, seen, at))


def _colours(sight: Sight, eggs: Finding, state: np.ndarray, steps: Steps, seen: Seen) -> np.ndarray:
    holds = (state > EMPTY) & (state < RELEASED)
    return colour_steps(steps.share_to_silver(sight.at), eggs.light_class, seen) * holds


def _tails(tails: Finding, state: np.ndarray, hidden: np.ndarray, seen: Seen) -> np.ndarray:
    hatched = (state == HATCHED) | (state == RELEASING)
    return (tails_shown(np.minimum(hidden, 1), tails.light_class, seen) * hatched)[None]


def chances(sight: Sight, shown: Glimpse, seen: Seen) -> np.ndarray:
    """Return the chance of the findings if the brood is not lost, shape (2, n), or (1, n) if no tails were asked."""
    held = np.take(sight.by_state, shown.state)
    if sight.eggs:
        held *= _read(sight.eggs, shown.colours, shown.state, False, seen)
    if not sight.tails:
        return held[None]
    alive = np.empty((2, held.size))
    for shows in (0, 1):
        alive[shows] = held * _read(sight.tails, shown.tails[:shows], shown.state, bool(shows), seen)
    return alive


def _read(finding: Finding, shown: np.ndarray, state: np.ndarray, shows: bool, seen: Seen) -> np.ndarray:
    """Return the chance of a finding for each point, the geometric mean of its readings, shape (n)."""
    chances = form(finding.part, finding.light_class, shows, seen)
    return _geometric_mean([_linear(chances, row, shown, state) for row in _rows(finding)])


def _linear(chances: Form, row: int, shown: np.ndarray, state: np.ndarray) -> np.ndarray:
    chance = np.take(chances.constant[row], state)
    for weight, step in zip(chances.steps[row], shown, strict=True):
        if weight:
            chance += weight * step
    return chance


def _rows(finding: Finding) -> list[int]:
    return [VALUES[finding.part].index(value) for value in finding.told()]


def _geometric_mean(chances: Sequence[np.ndarray]) -> np.ndarray:
    if len(chances) == 1:
        return chances[0]
    return np.exp(np.mean(np.log(np.maximum(chances, LEAST_CHANCE)), axis=0))


def sights(evidence: Evidence, profile: Profile, course: Course) -> tuple[Sight, ...]:
    """Return the evenings up to the end of the brood, and its catch as the last, in order of time."""
    looks = [look for look in evidence.looks if days_between(look.at, evidence.end()) >= 0]
    evenings = (_asked(evening, profile.seen.parts()) for evening in merged(looks))
    seen = tuple(_sight(evening, profile.seen, course) for evening in evenings if evening.findings)
    if evidence.catch:
        return (*seen, _caught(evidence.catch, profile.seen, course))
    return (*seen, _ended(evidence.ending, profile.seen, course)) if evidence.ending else seen


def _asked(evening: Evening, parts: Sequence[str]) -> Evening:
    """Return the evening without what says nothing of this species, such as the mouth of one that guards a nest."""
    return replace(evening, findings=tuple(finding for finding in evening.findings if finding.part in parts))


def _sight(evening: Evening, seen: Seen, course: Course) -> Sight:
    findings = {finding.part: finding for finding in evening.findings}
    eggs, tails = findings.pop("eggs", None), findings.pop("tails", None)
    by_state = _by_state(findings.values(), seen)
    empty = by_state[EMPTY] * _by_state([finding for finding in (eggs, tails) if finding], seen)[EMPTY]
    return Sight(evening.id, days_between(course.origin, evening.at), by_state, float(empty), eggs, tails, evening)


def _by_state(findings: Iterable[Finding], seen: Seen) -> np.ndarray:
    """Return the product over findings of their constant chance in each state, shape (6)."""
    product: np.ndarray = np.ones(6)
    for finding in findings:
        constant = form(finding.part, finding.light_class, False, seen).constant
        product = product * _geometric_mean([constant[row] for row in _rows(finding)])
    return product


def _caught(catch: Catch, seen: Seen, course: Course) -> Sight:
    fitting = np.isin(np.arange(6), _states_caught(catch))
    by_state = np.where(fitting, seen.catch_fits, 1 - seen.catch_fits)
    return Sight("the catch", days_between(course.origin, catch.at), by_state, float(by_state[EMPTY]))


def _ended(ending: Ending, seen: Seen, course: Course) -> Sight:
    """Return what was said of the end of a brood, as sure as what a catch brings up: let go, or lost."""
    lost = ending.how == "lost"
    fitting = np.isin(np.arange(6), () if lost else (RELEASING, RELEASED))
    by_state = np.where(fitting, seen.catch_fits, 1 - seen.catch_fits)
    empty = seen.catch_fits if lost else 1 - seen.catch_fits
    return Sight("the end", days_between(course.origin, ending.at), by_state, float(empty))


def _states_caught(catch: Catch) -> tuple[int, ...]:
    if catch.free:
        return (RELEASING, RELEASED)
    if catch.yolk:
        return (HATCHED,)
    return (ORANGE, EYED) if catch.eggs else (EMPTY, RELEASED)
