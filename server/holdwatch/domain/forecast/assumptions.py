"""On which assumptions the night depends: each is put at the ends of its stated range, the points weighed again.

As with a night that was announced, another one counts only for a gain of 0.01 or more, so that two nights as good as
each other make no assumption look important. What the household's own broods have taught is drawn anew from them under
each assumption: how far it leaves the books is a matter of assumptions too.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date

from holdwatch.domain.catch import recommended
from holdwatch.domain.forecast.belief import Belief, believe, weighed_anew
from holdwatch.domain.forecast.evidence import Evidence
from holdwatch.domain.forecast.nights import night_table, night_worths
from holdwatch.domain.forecast.prior import Learned
from holdwatch.domain.species import Number, Profile, with_number

# What the next brood starts from, under any profile.
Learn = Callable[[Profile], Learned | None]


def from_the_books(_: Profile) -> None:
    """Return what is learned where no brood has taught anything yet: nothing."""


@dataclass(frozen=True)
class Dependence:
    """An assumption that the night depends on: which night it would be at the low and the high end of its range."""

    number: Number
    night_at_low: date | None
    night_at_high: date | None


def assumptions_that_matter(
    evidence: Evidence, profile: Profile, night: date | None, learn: Learn = from_the_books
) -> tuple[Dependence, ...]:
    """Return every assumption at an end of whose range another night than this one would be the one to catch."""
    belief = believe(evidence, profile, learn(profile))
    return tuple(_dependences(belief, night, evidence, profile, learn))


def _dependences(
    belief: Belief, night: date | None, evidence: Evidence, profile: Profile, learn: Learn
) -> Iterator[Dependence]:
    for number in profile.numbers:
        if number.range:
            low, high = (
                _night(belief, night, evidence, with_number(profile, number.name, end), learn) for end in number.range
            )
            if (low, high) != (night, night):
                yield Dependence(number, low, high)


def _night(
    belief: Belief, announced: date | None, evidence: Evidence, profile: Profile, learn: Learn
) -> date | None:
    anew = weighed_anew(belief, evidence, profile, learn(profile))
    nights = night_table(anew, tuple(night_worths(anew, evidence, profile)))
    best = recommended([night.prospect() for night in nights], announced)
    return best.night.date if best else None
