"""The points at which a brood is tried: fixed scrambled Sobol sets, turned to normal and Student-t scores.

Sobol's sequence with the direction numbers of Joe and Kuo (2008, SIAM J. Sci. Comput. 30:2635-2654), scrambled by
Owen's nested permutation through a hash (Burley 2020, J. Comput. Graph. Tech. 9(4):1-20). All of it is arithmetic
on 32-bit integers, so the set is the same on every machine and with every version of a library.
"""

from functools import cache

import numpy as np
from scipy.special import gammaincinv, ndtri

# Degree, coefficients and first direction numbers of each dimension after the first.
DIRECTIONS = (
    (1, 0, (1,)),
    (2, 1, (1, 3)),
    (3, 1, (1, 3, 1)),
    (3, 2, (1, 1, 1)),
    (4, 1, (1, 1, 3, 3)),
    (4, 4, (1, 3, 5, 13)),
    (5, 2, (1, 1, 5, 5, 17)),
)
BITS = 32


@cache
def prior_scores(count: int, latents: int, seed: int) -> np.ndarray:
    """Return `count` (a power of two) points of the standard normal, shape (count, latents); read only."""
    scores = ndtri(uniform_points(count, latents, seed))
    scores.flags.writeable = False
    return scores


@cache
def student_scores(count: int, latents: int, freedom: int, seed: int) -> np.ndarray:
    """Return `count` points of the standard Student-t with `freedom` degrees, shape (count, latents); read only."""
    uniform = uniform_points(count, latents + 1, seed)
    chi_square = 2 * gammaincinv(freedom / 2, uniform[:, -1])
    scores = ndtri(uniform[:, :-1]) / np.sqrt(chi_square / freedom)[:, None]
    scores.flags.writeable = False
    return scores


def uniform_points(count: int, dimensions: int, seed: int) -> np.ndarray:
    """Return scrambled Sobol points strictly inside the unit cube, shape (count, dimensions)."""
    columns = [scrambled(digits, seed * 64 + d) for d, digits in enumerate(sobol(count, dimensions).T)]
    return (np.stack(columns, axis=1).astype(float) + 0.5) / 2.0**BITS


def sobol(count: int, dimensions: int) -> np.ndarray:
    """Return the first `count` points of Sobol's sequence as 32-bit fractions, shape (count, dimensions)."""
    index = np.arange(count, dtype=np.uint32)
    gray = index ^ (index >> np.uint32(1))
    points = np.zeros((count, dimensions), dtype=np.uint32)
    for d in range(dimensions):
        for bit, direction in enumerate(_directions(d)[: count.bit_length()]):
            points[:, d] ^= ((gray >> np.uint32(bit)) & np.uint32(1)) * direction
    return points


def _directions(dimension: int) -> np.ndarray:
    if dimension == 0:
        return np.array([1 << (BITS - 1 - i) for i in range(BITS)], dtype=np.uint32)
    degree, coefficients, first = DIRECTIONS[dimension - 1]
    numbers = [m << (BITS - 1 - i) for i, m in enumerate(first)]
    for i in range(degree, BITS):
        number = numbers[i - degree] ^ (numbers[i - degree] >> degree)
        for k in range(1, degree):
            number ^= ((coefficients >> (degree - 1 - k)) & 1) * numbers[i - k]
        numbers.append(number)
    return np.array(numbers, dtype=np.uint32)


def scrambled(digits: np.ndarray, seed: int) -> np.ndarray:
    """Return 32-bit fractions with every binary digit flipped by a hash of the digits before it."""
    x = _reversed_bits(digits) + np.uint32(_mixed(seed))
    for factor in (0x6C50B47C, 0xB82F1E52, 0xC7AFE638, 0x8D22F6E6):
        x = x ^ (x * np.uint32(factor))
    return _reversed_bits(x)


def _mixed(seed: int) -> int:
    """Return the seed spread over 32 bits, so that neighbouring seeds give unlike permutations."""
    mixed = (seed + 0x9E3779B9) & 0xFFFFFFFF
    for shift, factor in ((16, 0x21F0AAAD), (15, 0x735A2D97), (15, 1)):
        mixed = ((mixed ^ (mixed >> shift)) * factor) & 0xFFFFFFFF
    return mixed


def _reversed_bits(x: np.ndarray) -> np.ndarray:
    for shift, mask in ((1, 0x55555555), (2, 0x33333333), (4, 0x0F0F0F0F), (8, 0x00FF00FF), (16, 0x0000FFFF)):
        up, low = np.uint32(shift), np.uint32(mask)
        x = ((x >> up) & low) | ((x & low) << up)
    return x
