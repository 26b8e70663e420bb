"""Which looks moved the forecast, and how far: what would be believed if one of them had not been made.

The points weighed by all looks but one are at hand from judging contradictions, so nothing is drawn anew: the median
of hatching and the best night follow from the same points under other weights.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from holdwatch.domain.catch import Prospect, recommended
from holdwatch.domain.forecast.belief import Belief
from holdwatch.domain.forecast.contradiction import Foretold
from holdwatch.domain.forecast.nights import NightWorth
from holdwatch.domain.forecast.sample import weighted_median


@dataclass(frozen=True)
class Influence:
    """One evening: by how many days it moved the median of hatching, and the night to catch without it."""

    look: str
    hatched_later_days: float
    night_without: date | None


def influences(belief: Belief, looks: Sequence[Foretold], worths: Sequence[NightWorth]) -> tuple[Influence, ...]:
    """Return what each look did, in order of time."""
    if not looks:
        return ()
    order = belief.steps.orders["hatch"]
    hatch, weights = belief.rising("hatch")
    now = weighted_median(hatch, weights)
    nights = _nights_without(belief, looks, worths)
    return tuple(
        Influence(look.sight.id, now - weighted_median(hatch, look.weights[order]), night)
        for look, night in zip(looks, nights, strict=True)
    )


def _nights_without(
    belief: Belief, looks: Sequence[Foretold], worths: Sequence[NightWorth]
) -> list[date | None]:
    if not worths:
        return [None] * len(looks)
    kept = np.stack([look.kept for look in looks])
    since = np.stack([worth.survives for worth in worths]) / belief.fate.survival
    saved = kept @ (since * np.stack([worth.saved for worth in worths])).T
    with_him = kept @ (since * np.stack([worth.saved_with_him for worth in worths])).T
    return [_best(worths, *row) for row in zip(saved, with_him, strict=True)]


def _best(worths: Sequence[NightWorth], saved: np.ndarray, with_him: np.ndarray) -> date | None:
    rows = zip(worths, saved.tolist(), with_him.tolist(), strict=True)
    best = recommended([Prospect(worth.night, share, held) for worth, share, held in rows])
    return best.night.date if best else None
