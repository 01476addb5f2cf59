"""Standard and expanded uncertainty: limits, combination, degrees of freedom, coverage, fitted lines, rounding."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike

from certgen.physics.curves import Line, straight_line
from certgen.physics.domain import Array, FloatOrArray, require_not_negative

# Coverage factors from Student's distribution.


#: Coverage probability of two standard deviations either side of a normal distribution: 95.45 %. [1]
COVERAGE = math.erf(math.sqrt(2.0))
#: Its coverage factor where the degrees of freedom are infinite. [1]
NORMAL_COVERAGE_FACTOR = 2.0

#: That of one degree of freedom is 13.97; all others lie between.
_GREATEST = 14.0
#: From here on three terms of the expansions in 1/nu give eight digits.
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


def probability_below(deviations: float, degrees_of_freedom: float = math.inf) -> float:
    """Probability that a value lies below so many standard uncertainties from its estimate.

    Parameters
    ----------
    deviations : float
        Distance from the estimate over the standard uncertainty; negative below it. [1]
    degrees_of_freedom : float
        Of the standard uncertainty, >= 1; rounded down to a whole number. [1]

    Returns
    -------
    float
        Of Student's distribution, of the normal one where the degrees of freedom are infinite. [1]

    References
    ----------
    JCGM 106:2012, 7.2; JCGM 101:2008, 6.4.9 (the scaled and shifted t-distribution). R. A. Fisher, Expansion of
    "Student's" integral in powers of n^-1, Metron 5 (1925), for many degrees of freedom.
    """
    if math.isinf(degrees_of_freedom):
        return NormalDist().cdf(deviations)
    freedom = max(1, math.floor(degrees_of_freedom * (1.0 + _BINARY)))
    if freedom >= _MANY:
        return _probability_of_many(deviations, freedom)
    within = _probability_within(abs(deviations), freedom)
    return 0.5 + math.copysign(0.5 * within, deviations)


def _probability_of_many(t: float, freedom: int) -> float:
    """Probability of lying below t with many degrees of freedom: Fisher's expansion, to three terms."""
    normal, square, part = NormalDist(), t * t, 1.0 / freedom
    first = (square + 1.0) / 4.0
    second = (3.0 * square**3 - 7.0 * square**2 - 5.0 * square - 3.0) / 96.0
    third = square**5 - 11.0 * square**4 + 14.0 * square**3 + 6.0 * square**2 - 3.0 * square - 15.0
    below = normal.cdf(t) - normal.pdf(t) * t * part * (first + part * (second + part * third / 384.0))
    return min(1.0, max(0.0, below))


# Standard and expanded uncertainty: limits, combination, degrees of freedom, coverage, fitted lines, rounding.


#: What a stated half-width is divided by to give a standard uncertainty. ``normal`` is an expanded uncertainty with
#: k = 2, as calibration certificates state it. JCGM 100:2008, 4.3.3 (normal), 4.3.7 (rectangular), 4.3.9
#: (triangular); arcsine: JCGM 101:2008, 6.4.6.
DIVISORS = {"rectangular": math.sqrt(3.0), "triangular": math.sqrt(6.0), "arcsine": math.sqrt(2.0), "normal": 2.0}


def half_width_to_standard(half_width: FloatOrArray, distribution: str) -> FloatOrArray:
    """Standard uncertainty of an error known to lie within limits either side.

    Parameters
    ----------
    half_width : float or array, shape (n,)
        Limit of error either side, >= 0; for ``normal`` the expanded uncertainty with k = 2. [any]
    distribution : {'rectangular', 'triangular', 'arcsine', 'normal'}
        What is believed of the error within the limits.

    Returns
    -------
    float or array, shape (n,)
        Half-width a over sqrt(3) rectangular, sqrt(6) triangular, sqrt(2) arcsine, 2 normal. [as half_width]

    Raises
    ------
    ValueError
        The distribution is none of these, or a half-width is negative.

    References
    ----------
    JCGM 100:2008 (GUM), 4.3.3, 4.3.7 and 4.3.9; JCGM 101:2008, 6.4.6.
    """
    if distribution not in DIVISORS:
        raise ValueError(f"distribution must be one of {', '.join(DIVISORS)}, got {distribution!r}")
    require_not_negative(half_width, "half-width")
    return half_width / DIVISORS[distribution]


def combine(contributions: ArrayLike, correlation: ArrayLike | None = None) -> float:
    """Combined standard uncertainty of a result.

    Parameters
    ----------
    contributions : array, shape (n,)
        Sensitivity times standard uncertainty of each input, with the sign of the sensitivity. [unit of the result]
    correlation : array, shape (n, n), or None
        Correlation coefficients of the inputs; ``None`` where none are correlated. [1]

    Returns
    -------
    float
        Root of the sum of squares and, where correlated, of the cross terms; 0 for none, NaN where one is
        NaN. [unit of the result]

    Raises
    ------
    ValueError
        The correlation matrix does not fit, or no errors can be correlated so.

    References
    ----------
    JCGM 100:2008 (GUM), 5.1.2 equation (10) and 5.2.2 equations (13) to (16).
    """
    parts = np.asarray(contributions, dtype=np.float64)
    if correlation is None:
        return float(np.sqrt(np.sum(parts**2)))
    coefficients = _correlation_matrix(correlation, parts.size)
    return math.sqrt(max(float(parts @ coefficients @ parts), 0.0)) if np.isfinite(parts).all() else math.nan


def effective_degrees_of_freedom(contributions: ArrayLike, degrees_of_freedom: ArrayLike) -> float:
    """Degrees of freedom of a combined standard uncertainty, by Welch and Satterthwaite.

    Parameters
    ----------
    contributions : array, shape (n,)
        Sensitivity times standard uncertainty of each input; the inputs are independent. [unit of the result]
    degrees_of_freedom : array, shape (n,)
        Of each standard uncertainty, > 0; infinite where it is taken as exact. [1]

    Returns
    -------
    float
        u_c^4 / sum(u_i^4 / nu_i); infinite where no contribution has finite degrees of freedom, NaN where a
        contribution is NaN. [1]

    Raises
    ------
    ValueError
        The two are not of one length, or degrees of freedom are not above 0.

    References
    ----------
    JCGM 100:2008 (GUM), G.4.1, equation (G.2b).
    """
    parts, freedom = (np.asarray(one, dtype=np.float64).ravel().tolist() for one in (contributions, degrees_of_freedom))
    if len(parts) != len(freedom):
        raise ValueError(f"each contribution has its degrees of freedom, got {len(parts)} and {len(freedom)}")
    if not all(one > 0.0 for one in freedom):
        raise ValueError("degrees of freedom must be above 0")
    total = math.hypot(*parts)
    if math.isnan(total):
        return math.nan
    if total == 0.0:
        return math.inf
    weights = sum((part / total) ** 4 / of for part, of in zip(parts, freedom, strict=True))
    return 1.0 / weights if weights > 0.0 else math.inf


def expanded(standard: float, degrees_of_freedom: float) -> tuple[float, float]:
    """Expanded uncertainty for 95.45 % and its coverage factor.

    Parameters
    ----------
    standard : float
        Combined standard uncertainty, >= 0. [any]
    degrees_of_freedom : float
        Its effective degrees of freedom, >= 1. [1]

    Returns
    -------
    tuple of (float, float)
        U = k u_c [as standard] and k [1].

    Raises
    ------
    ValueError
        The standard uncertainty is negative, or there is less than one degree of freedom.

    References
    ----------
    JCGM 100:2008 (GUM), 6.2.1 and G.6.4.
    """
    require_not_negative(standard, "standard uncertainty")
    factor = coverage_factor(degrees_of_freedom)
    return factor * standard, factor


@dataclass(frozen=True)
class LineCovariance:
    """How sure a fitted straight line is, with n - 2 degrees of freedom.

    ``slope`` and ``intercept`` are the standard uncertainties of the line's own; ``correlation`` is that of the two
    estimates. All are NaN for a line through two points, about which there is no scatter to judge by.
    """

    line: Line
    slope: float
    intercept: float
    correlation: float
    degrees_of_freedom: int

    def at(self, abscissa: FloatOrArray) -> FloatOrArray:
        """Standard uncertainty of the line's ordinate at an abscissa: float or array, shape (m,).

        References
        ----------
        JCGM 100:2008 (GUM), H.3.4, equation (H.15).
        """
        cross = 2.0 * abscissa * self.intercept * self.slope * self.correlation
        return np.sqrt(np.maximum(self.intercept**2 + (abscissa * self.slope) ** 2 + cross, 0.0))


def line_covariance(x: ArrayLike, y: ArrayLike) -> LineCovariance:
    """Standard uncertainties and correlation of slope and intercept of a least-squares line.

    Parameters
    ----------
    x, y : array, shape (n,)
        The points, all of equal weight; the scatter is in y, and x is taken as exact. [any]

    Returns
    -------
    LineCovariance
        Of y = a + b x: u(b) [unit of y over unit of x], u(a) [unit of y], r(a, b), and n - 2.

    Raises
    ------
    ValueError
        x and y are not of one length, or x has fewer than two distinct values.

    References
    ----------
    JCGM 100:2008 (GUM), H.3.2, equations (H.13c) to (H.13f).
    """
    line = straight_line(x, y)
    abscissae = np.asarray(x, dtype=np.float64)
    scatter = line.residual_standard_deviation
    spread = math.sqrt(float(np.sum((abscissae - abscissae.mean()) ** 2)))
    root_mean_square = math.sqrt(float(np.mean(abscissae**2)))
    return LineCovariance(
        line=line,
        slope=scatter / spread,
        intercept=scatter * root_mean_square / spread,
        correlation=float(-abscissae.mean() / root_mean_square) if math.isfinite(scatter) else math.nan,
        degrees_of_freedom=abscissae.size - 2,
    )


def decimals_for(uncertainty: float, significant: int = 2) -> int:
    """Decimals that show an uncertainty with so many significant digits.

    Parameters
    ----------
    uncertainty : float
        Standard or expanded uncertainty, > 0 and finite. [any]
    significant : int
        Digits to keep, >= 1.

    Returns
    -------
    int
        Decimals; below 0 where the last digit kept stands left of the units.

    Raises
    ------
    ValueError
        The uncertainty is not above 0 or not finite, or no digit is asked for.

    References
    ----------
    JCGM 100:2008 (GUM), 7.2.6: at most two significant digits.
    """
    if not (math.isfinite(uncertainty) and uncertainty > 0.0):
        raise ValueError(f"an uncertainty to be rounded must be above 0 and finite, got {uncertainty:g}")
    if significant < 1:
        raise ValueError(f"at least one significant digit must be kept, got {significant}")
    # Written out, the number has already carried: 0.0996 is 1.0e-01.
    return significant - 1 - int(f"{uncertainty:.{significant - 1}e}".partition("e")[2])


def round_with(value: float, uncertainty: float, *, significant: int = 2, upward: bool = False) -> tuple[str, str]:
    """A value and its uncertainty as printed, both to the same decimal.

    Parameters
    ----------
    value : float
        The result. [any]
    uncertainty : float
        Its standard or expanded uncertainty, > 0. [as value]
    significant : int
        Digits of the uncertainty to keep.
    upward : bool
        Whether the uncertainty is rounded up rather than to the nearest digit; the value never is.

    Returns
    -------
    tuple of (str, str)
        Value and uncertainty, without exponent.

    Raises
    ------
    ValueError
        The value is not finite, or as for :func:`decimals_for`.

    References
    ----------
    JCGM 100:2008 (GUM), 7.2.6.
    """
    if not math.isfinite(value):
        raise ValueError(f"a value to be rounded must be finite, got {value:g}")
    decimals = decimals_for(uncertainty, significant)
    if upward:
        last_digit = 10.0**-decimals
        uncertainty = math.ceil(uncertainty / last_digit - _BINARY) * last_digit
        decimals = decimals_for(uncertainty, significant)
    return _fixed(value, decimals), _fixed(uncertainty, decimals)


def _fixed(value: float, decimals: int) -> str:
    rounded = round(value, decimals) + 0.0  # plus zero turns -0.0 into 0.0
    return f"{rounded:.{max(decimals, 0)}f}"


def _correlation_matrix(given: ArrayLike, size: int) -> Array:
    """A correlation matrix, once it is seen to be one."""
    matrix = np.asarray(given, dtype=np.float64)
    if matrix.shape != (size, size):
        raise ValueError(f"{size} contributions need a correlation matrix of that size, got {matrix.shape}")
    if not (np.allclose(matrix, matrix.T, atol=_BINARY) and np.allclose(np.diag(matrix), 1.0, atol=_BINARY)):
        raise ValueError("a correlation matrix is symmetric with ones on its diagonal")
    # Coefficients quoted to two or three digits may leave an eigenvalue a little below zero.
    if size and np.linalg.eigvalsh(matrix)[0] < -0.01 * size:
        raise ValueError("no errors can be correlated as this matrix says")
    return matrix
