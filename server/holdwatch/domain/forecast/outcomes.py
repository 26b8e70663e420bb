"""What all the outcomes of one look were worth: their chances, from the weights of the broods at that look.

Every chance is linear in what a brood has to show: 1, the two steps of its colour, and the chance that its tails
show. So the sums of weights times those, state by state, are all that is needed of the points.
"""

from collections.abc import Sequence

import numpy as np

from holdwatch.domain.forecast.sight import Glimpse, Sight
from holdwatch.domain.looks import EMPTY, VALUES, Finding, form
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
    rest = _joint([finding for finding in ordered(sight) if finding.part not in ("eggs", "tails")], seen)
    nothing = np.zeros((STATES, 1, 1))
    nothing[EMPTY] = lost
    table = _contracted(nothing, sight, rest, False, seen)
    for shows, weights in enumerate(held):
        tails = shown.tails if shows else shown.tails[:0]
        table = table + _contracted(_sums(weights, shown, tails), sight, rest, bool(shows), seen)
    return table.reshape([len(VALUES[finding.part]) for finding in ordered(sight)])


def _sums(weights: np.ndarray, shown: Glimpse, tails: np.ndarray) -> np.ndarray:
    """Return the sums of weights times what is shown, (6 states, 1 + steps of the colour, 1 + tails)."""
    sums = np.empty((STATES, 1 + len(shown.colours), 1 + len(tails)))
    for e, colour in enumerate((1.0, *shown.colours)):
        for t, tail in enumerate((1.0, *tails)):
            sums[:, e, t] = np.bincount(shown.state, weights * (colour * tail), minlength=STATES)
    return sums


def _contracted(sums: np.ndarray, sight: Sight, rest: np.ndarray, shows: bool, seen: Seen) -> np.ndarray:
    """Return the joint outcomes of eggs, tails and the `rest` (6, outcomes) that follow from such sums."""
    eggs, tails = _coefficients(sight.eggs, False, seen), _coefficients(sight.tails, shows, seen)
    by_eggs = eggs[:, : sums.shape[1]].transpose(0, 2, 1) @ sums
    by_both = by_eggs @ tails[:, : sums.shape[2]]
    return by_both.reshape(STATES, -1).T @ rest


def _coefficients(finding: Finding | None, shows: bool, seen: Seen) -> np.ndarray:
    """Return what each value takes of the sums: its constant by state, then of each step, (6, 1 + k, values)."""
    if finding is None:
        return np.ones((STATES, 1, 1))
    chances = form(finding.part, finding.light_class, shows, seen)
    steps = np.broadcast_to(chances.steps.T, (STATES, *chances.steps.T.shape))
    return np.concatenate([chances.constant.T[:, None, :], steps], axis=1)


def _joint(findings: Sequence[Finding], seen: Seen) -> np.ndarray:
    """Return the joint chances, by state, of findings that follow the state alone, (6, outcomes)."""
    table = np.ones((STATES, 1))
    for finding in findings:
        constant = form(finding.part, finding.light_class, False, seen).constant.T
        table = (table[:, :, None] * constant[:, None, :]).reshape(STATES, -1)
    return table
