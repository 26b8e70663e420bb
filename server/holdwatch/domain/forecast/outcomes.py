"""What all the outcomes of one look were worth: their chances, from the weights of the broods at that look.

Every chance is linear in what a brood has to show: 1, the two steps of its colour, and the chance that its tails
show. So the sums of weights times those, state by state, are all that is needed of the points.
"""

from collections.abc import Sequence

import numpy as np

from holdwatch.domain.forecast.sight import Glimpse, Sight
from holdwatch.domain.looks import (
    EMPTY,
    EYED,
    HATCHED,
    ORANGE,
    RELEASING,
    VALUES,
    Finding,
    chances_by_state,
    colour_form,
    tails_form,
)
from holdwatch.domain.species import Seen

STATES = 6


def ordered(sight: Sight) -> list[Finding]:
    """Return the findings in the order of the axes of their outcomes: eggs and tails before the rest."""
    findings = sight.evening.findings if sight.evening else ()
    return sorted(findings, key=lambda finding: (finding.part != "eggs", finding.part != "tails"))


def outcome_table(held: np.ndarray, lost: float, sight: Sight, shown: Glimpse, seen: Seen) -> np.ndarray:
    """Return the chance of every joint outcome of a look's asked parts, one axis a finding in `ordered` order.

    `held` (1 or 2, n) are the chances of the broods if not lost, by kind of male (never shows tails, shows them);
    `lost` is the chance that he had lost them.
    """
    findings = ordered(sight)
    kinds = [_kind(weights, findings, shown, seen, bool(shows)) for shows, weights in enumerate(held)]
    table = np.sum(kinds, axis=0) + lost * _joint(_empty(findings, seen))
    return table.reshape([len(VALUES[finding.part]) for finding in findings])


def _kind(weights: np.ndarray, findings: Sequence[Finding], shown: Glimpse, seen: Seen, shows: bool) -> np.ndarray:
    """Return the joint outcomes for one kind of male, flat: sum over states and over what is shown."""
    eggs = [np.ones(1), *(shown.colours if shown.colours is not None else ())]
    tails = [np.ones(1), *([shown.tails] if shows and shown.tails is not None else ())]
    joint = np.zeros(1)
    for e, colour in enumerate(eggs):
        for t, tail in enumerate(tails):
            by_state = np.bincount(shown.state, weights * colour * tail, minlength=STATES)
            rows = [_rows(finding, seen, shows, e, t) for finding in findings]
            joint = joint + _joint([by_state[:, None], *rows])
    return joint


def _rows(finding: Finding, seen: Seen, shows: bool, e: int, t: int) -> np.ndarray:
    """Return what each value takes, state by state, of step `e` of the colour and `t` of the tails, (6, values)."""
    by_state = chances_by_state(finding.part, finding.light_class, seen)
    if finding.part == "eggs":
        form = colour_form(finding.light_class, seen)
        return _placed(by_state, form, e, (ORANGE, EYED, HATCHED, RELEASING))
    if finding.part == "tails" and shows:
        return _placed(by_state, tails_form(seen), t, (HATCHED, RELEASING))
    return by_state


def _placed(by_state: np.ndarray, form: np.ndarray, step: int, states: tuple[int, ...]) -> np.ndarray:
    """Return column `step` of a form in the states it holds for, and elsewhere the plain chances at step 0."""
    rows = by_state if step == 0 else np.zeros_like(by_state)
    rows[list(states)] = form[:, step]
    return rows


def _empty(findings: Sequence[Finding], seen: Seen) -> list[np.ndarray]:
    return [chances_by_state(finding.part, finding.light_class, seen)[[EMPTY]] for finding in findings]


def _joint(rows: Sequence[np.ndarray]) -> np.ndarray:
    """Return the sum over states of the outer products of `rows`, each (states, values), as a flat table."""
    table = np.ones((len(rows[0]), 1))
    for row in rows:
        table = (table[:, :, None] * row[:, None, :]).reshape(len(table), -1)
    return table.sum(axis=0)
