"""Coverage factors from Student's distribution."""

from __future__ import annotations

import math
from functools import lru_cache

#: Coverage probability of two standard deviations either side of a normal distribution: 95.45 %. [1]
COVERAGE = math.erf(math.sqrt(2.0))
#: Its coverage factor where the degrees of freedom are infinite. [1]
NORMAL_COVERAGE_FACTOR = 2.0

#: That of one degree of freedom is 13.97; all others lie between.
_GREATEST = 14.0
#: From here on three terms of the expansion in 1/nu give nine digits.
_MANY = 200
_HALVINGS = 60
#: Part of a number that is only the rounding of binary numbers.
_BINARY = 1e-9


def coverage_factor(degrees_of_freedom: float) -> float:
    """Coverage factor for 95.45 %, two-sided, from Student's distribution.

    Parameters
    ----------
    degrees_of_freedom : float
        Effective degrees of freedom, >= 1; rounded down to a whole number. [1]

    Returns
    -------
    float
        k; exactly 2 where they are infinite, NaN where they are NaN. [1]

    Raises
    ------
    ValueError
        There is less than one degree of freedom.

    References
    ----------
    JCGM 100:2008 (GUM), G.4.1 (rounding down) and table G.2, which is table B.1 of NIST Technical Note 1297.
    """
    if math.isnan(degrees_of_freedom):
        return math.nan
    # Nine degrees of freedom that were computed may come as 8.999999999999998.
    degrees_of_freedom *= 1.0 + _BINARY
    if degrees_of_freedom < 1.0:
        raise ValueError(f"a coverage factor needs at least one degree of freedom, got {degrees_of_freedom:g}")
    if math.isinf(degrees_of_freedom):
        return NORMAL_COVERAGE_FACTOR
    return _quantile(math.floor(degrees_of_freedom))


@lru_cache(maxsize=256)
def _quantile(freedom: int) -> float:
    """The t that takes in ``COVERAGE`` of Student's distribution with whole degrees of freedom."""
    if freedom >= _MANY:
        return _quantile_of_many(freedom)
    low, high = NORMAL_COVERAGE_FACTOR, _GREATEST
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if _probability_within(middle, freedom) < COVERAGE else (low, middle)
    return 0.5 * (low + high)


def _probability_within(t: float, freedom: int) -> float:
    """Probability of lying within t either side: Abramowitz and Stegun (1964), 26.7.3 (odd) and 26.7.4 (even)."""
    angle = math.atan(t / math.sqrt(freedom))
    odd = freedom % 2
    term, total = (math.cos(angle), 0.0) if odd else (1.0, 0.0)
    for index in range(1 + odd, freedom, 2):
        total += term
        term *= math.cos(angle) ** 2 * index / (index + 1)
    total *= math.sin(angle)
    return 2.0 / math.pi * (angle + total) if odd else total


def _quantile_of_many(freedom: int) -> float:
    """The t of many degrees of freedom: Abramowitz and Stegun (1964), 26.7.5, to three terms."""
    z, part = NORMAL_COVERAGE_FACTOR, 1.0 / freedom
    first = (z**3 + z) / 4.0
    second = (5.0 * z**5 + 16.0 * z**3 + 3.0 * z) / 96.0
    third = (3.0 * z**7 + 19.0 * z**5 + 17.0 * z**3 - 15.0 * z) / 384.0
    return z + part * (first + part * (second + part * third))
