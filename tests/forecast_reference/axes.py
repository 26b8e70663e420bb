"""ln H and ln D of a household's broods: how centre, male and brood move each, and smooth sums over weighted draws."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import RectBivariateSpline, make_interp_spline

from .species import Species

KNOTS_A_SPREAD = 4
REACH_SPREADS = 7.0
SLICE = 20_000
SMALLEST = 1e-300

Surface = Callable[[np.ndarray], np.ndarray]


@dataclass(frozen=True)
class Axis:
    """Of one of the two: the kinds of household (share, median, spread of the centre), male's and brood's spread."""

    kinds: tuple[tuple[float, float, float], ...]
    male: float
    brood: float

    def knots(self) -> np.ndarray:
        """Knots a quarter of a brood's spread apart, over all that is at all likely of any brood."""
        reach = [(median, REACH_SPREADS * np.hypot(np.hypot(s, self.male), self.brood)) for _, median, s in self.kinds]
        low, high = min(m - r for m, r in reach), max(m + r for m, r in reach)
        return np.linspace(low, high, int(KNOTS_A_SPREAD * (high - low) / self.brood) + 2)

    def kernel(self, days: np.ndarray) -> np.ndarray:
        """Density (n, knots) of a brood at days (n,), given its male's own centre at each knot; or the reverse."""
        return np.exp(-0.5 * ((days[:, None] - self.knots()) / self.brood) ** 2) / (self.brood * np.sqrt(2 * np.pi))


def axes(species: Species) -> list[Axis]:
    """The axis of ln H, and that of ln D where the species has one."""
    books, male, brood = species.hatch_log_spreads
    hatch = Axis(((1.0, float(np.log(species.hatch_median_days)), books),), male, brood)
    if not species.mouth_time:
        return [hatch]
    kinds = tuple((share, float(np.log(days)), spread) for share, days, spread in species.mouth_time.kinds)
    return [hatch, Axis(kinds, species.mouth_time.male_log_spread, species.mouth_time.brood_log_spread)]


def log_smoothed(axis: Axis, days: np.ndarray, weight: np.ndarray) -> Surface:
    """The log of weighted draws (n,) widened by a brood's residual, at any places (m,)."""
    slices = [slice(start, start + SLICE) for start in range(0, len(days), SLICE)]
    total = sum(weight[part] @ axis.kernel(days[part]) for part in slices)
    return make_interp_spline(axis.knots(), np.log(np.maximum(total, SMALLEST)))


def log_smoothed_together(both: list[Axis], days: np.ndarray, weight: np.ndarray) -> Surface:
    """The log of weighted draws (n, axes) widened by a brood's residual, at any places (m, axes)."""
    if len(both) == 1:
        smooth = log_smoothed(both[0], days[:, 0], weight)
        return lambda places: smooth(places[:, 0])
    slices = [slice(start, start + SLICE) for start in range(0, len(days), SLICE)]
    total = sum(
        (weight[part, None] * both[0].kernel(days[part, 0])).T @ both[1].kernel(days[part, 1]) for part in slices
    )
    plane = RectBivariateSpline(both[0].knots(), both[1].knots(), np.log(np.maximum(total, SMALLEST)))
    return lambda places: plane.ev(places[:, 0], places[:, 1])
