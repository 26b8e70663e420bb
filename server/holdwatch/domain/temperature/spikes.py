"""Readings that jump away from those around them, found by the Hampel filter.

A reading is a spike where it lies further from the median of its window than 3 * 1.4826 * MAD, the median absolute
deviation from that median (Hampel 1974, J. Am. Stat. Assoc. 69:383-393; as a moving window Pearson 2002, IEEE Trans.
Control Syst. Technol. 10:55-63). 1.4826 makes of the MAD the standard deviation where readings are normal.

Decided here, all of it assumptions:
- The window is of moments: a moment is the middle reading of ten minutes, of an even number the lower of the two, so
  that it is a value which the thermometer shows. A window is a moment with up to 6 before and 6 after it, none of them
  more than 12 h away; a probe that lies in the air for a while is then found by every minute of it. Of readings ten
  minutes or more apart each is its own moment, and this is the plain filter.
- In a window of fewer than 5 moments nothing is judged.
- Nothing closer to the median than 0.5 °C is a spike, nor than one and a half steps of the thermometer: where all
  moments are equal, the MAD is 0 and any step would be one. The step is the smallest in the window and at most 1 °C,
  which is also what is taken where the window shows none.
- The newest readings have nothing after them yet. They are judged by what lies before them, and again later.
"""

from datetime import timedelta

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from .hours import HOUR_MS

NORMAL_MAD = 1.4826
SIGMAS = 3.0
LEAST_DISTANCE_C = 0.5
STEPS_APART = 1.5
COARSEST_STEP_C = 1.0
MOMENT_MS = 600_000
ASIDE = 6
FARTHEST_MS = 12 * HOUR_MS
FEWEST = 5
REACH = timedelta(milliseconds=FARTHEST_MS + MOMENT_MS)
"""As far away in time as one reading can bear on the verdict on another."""


def spikes(at_ms: np.ndarray, celsius: np.ndarray) -> np.ndarray:
    """Return for each reading whether it is a spike; instants in ms, rising, temperatures in °C, both of shape (n)."""
    if not at_ms.size:
        return np.zeros(0, dtype=bool)
    moment, which = np.unique(at_ms // MOMENT_MS, return_inverse=True)
    middle, farthest = _limits(moment * MOMENT_MS, _lower_medians(which, celsius))
    return np.abs(celsius - middle[which]) > farthest[which]


def _limits(moment_ms: np.ndarray, celsius: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return for each moment the median of its window and the greatest distance from it that is no spike."""
    around = _windows(celsius)
    around[np.abs(_windows(moment_ms.astype(float)) - moment_ms[:, None]) > FARTHEST_MS] = np.nan
    around.sort(axis=1)
    middle = _medians(around)
    deviations = np.sort(np.abs(around - middle[:, None]), axis=1)
    distance = np.maximum(SIGMAS * NORMAL_MAD * _medians(deviations), LEAST_DISTANCE_C)
    distance = np.maximum(distance, STEPS_APART * _steps(around))
    distance[np.count_nonzero(~np.isnan(around), axis=1) < FEWEST] = np.inf
    return middle, distance


def _windows(values: np.ndarray) -> np.ndarray:
    """Return each value with its neighbours, shape (n, 13); not a number where there are none."""
    padded = np.pad(values, ASIDE, constant_values=np.nan)
    return sliding_window_view(padded, 2 * ASIDE + 1).copy()


def _medians(ordered: np.ndarray) -> np.ndarray:
    """Return the medians of rows in rising order whose missing values stand at the end."""
    count = np.count_nonzero(~np.isnan(ordered), axis=1)
    row = np.arange(len(ordered))
    return (ordered[row, (count - 1) // 2] + ordered[row, count // 2]) / 2


def _steps(ordered: np.ndarray) -> np.ndarray:
    """Return the smallest step between different values of each row in rising order, at most the coarsest."""
    apart = np.diff(ordered, axis=1)
    # A millionth of a degree is the noise of the arithmetic; a missing value is no step.
    apart[~(apart > 1e-6)] = np.inf
    return np.minimum(apart.min(axis=1), COARSEST_STEP_C)


def _lower_medians(which: np.ndarray, celsius: np.ndarray) -> np.ndarray:
    """Return the middle value of each group, of an even number the lower one."""
    order = np.lexsort((celsius, which))
    count = np.bincount(which)
    first = np.cumsum(count) - count
    return celsius[order][first + (count - 1) // 2]
