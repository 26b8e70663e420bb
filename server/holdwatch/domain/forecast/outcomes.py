"""What all the outcomes of one look were worth: their chances, from the weights of the broods at that look.

Every chance is linear in what a brood has to show: 1, the two steps of its colour, and the chance that its tails
show. So the sums of weights times those, state by state, are all that is needed of the points.
"""

from collections.abc import Sequence
from dataclasses import dataclass

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
    findings = ordered(sight)
    nothing = np.zeros((1, STATES, 1, 1))
    nothing[0, EMPTY] = lost
    table = contracted(nothing, findings, False, seen)
    for shows, weights in enumerate(held):
        tails = shown.tails if shows else shown.tails[:0]
        table = table + contracted(_sums(weights, shown, tails)[None], findings, bool(shows), seen)
    return table.sum(axis=(0, 1)).reshape([len(VALUES[finding.part]) for finding in findings])


def _sums(weights: np.ndarray, shown: Glimpse, tails: np.ndarray) -> np.ndarray:
    """Return the sums of weights times what is shown, (6 states, 1 + steps of the colour, 1 + tails)."""
    sums = np.empty((STATES, 1 + len(shown.colours), 1 + len(tails)))
    for e, colour in enumerate((1.0, *shown.colours)):
        for t, tail in enumerate((1.0, *tails)):
            sums[:, e, t] = np.bincount(shown.state, weights * (colour * tail), minlength=STATES)
    return sums


@dataclass(frozen=True)
class Features:
    """What the broods show, ready to be summed: one row a state that occurs and product of colour and tails, (f, n)."""

    states: np.ndarray
    rows: np.ndarray
    shape: tuple[int, int]

    def sums(self, weights: np.ndarray) -> np.ndarray:
        """Return `_sums` of many rows of weights (r, n) at once, as one product of matrices, (r, 6, colours, tails)."""
        sums = np.zeros((len(weights), STATES, *self.shape))
        sums[:, self.states] = (weights @ self.rows.T).reshape(len(weights), -1, *self.shape)
        return sums


def features(shown: Glimpse, shows: bool, chance: np.ndarray) -> Features:
    """Return what the broods show of a male who `shows` tails or never does, times the `chance` (n) that he is one."""
    tails = shown.tails if shows else shown.tails[:0]
    colours, tails = np.concatenate([[chance], chance * shown.colours]), np.concatenate([[np.ones(chance.size)], tails])
    both = colours[:, None] * tails
    # Late in a brood only two or three states are left; the others are not worth multiplying.
    states = np.flatnonzero(np.bincount(shown.state, minlength=STATES))
    by_state = (states[:, None] == shown.state)[:, None, None] * both
    return Features(states, by_state.reshape(-1, shown.state.size), (both.shape[0], both.shape[1]))


def contracted(sums: np.ndarray, findings: Sequence[Finding], shows: bool, seen: Seen) -> np.ndarray:
    """Return the joint outcomes of these findings, of eggs and tails first, by state, from rows of sums.

    `sums` (r, 6, 1 + colours, 1 + tails) gives (r, 6, outcomes); parts that are not asked are summed over.
    """
    eggs = _coefficients(_of("eggs", findings), False, seen)[:, : sums.shape[2]]
    tails = _coefficients(_of("tails", findings), shows, seen)[:, : sums.shape[3]]
    rest = _joint([finding for finding in findings if finding.part not in ("eggs", "tails")], seen)
    told = sums[:, :, : eggs.shape[1], : tails.shape[1]]
    by_both = eggs.transpose(0, 2, 1) @ told @ tails
    return (by_both.reshape(len(sums), STATES, -1, 1) * rest[:, None, :]).reshape(len(sums), STATES, -1)


def _of(part: str, findings: Sequence[Finding]) -> Finding | None:
    return next((finding for finding in findings if finding.part == part), None)


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
