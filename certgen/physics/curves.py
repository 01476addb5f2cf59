"""Lines and curves through measured points: least squares, shape-preserving cubics."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from certgen.physics.domain import Array, FloatOrArray, Index, Mask, plain


def distinct(values: Array) -> Array:
    """Every different value once, rising: values of shape (n,), found of shape (m,). [as values]"""
    # Asked for the values alone, numpy would load its masked arrays first.
    return np.unique(values, return_index=True)[0]


@dataclass(frozen=True)
class Line:
    """A straight line by ordinary least squares, in the units of its points."""

    #: Rise of y for each unit of x.
    slope: float
    #: y where x is 0.
    intercept: float
    #: Scatter of the points about the line, with n - 2 degrees of freedom; NaN for two points.
    residual_standard_deviation: float
    #: Correlation coefficient of x and y; NaN where y does not vary.
    correlation: float


def straight_line(x: ArrayLike, y: ArrayLike) -> Line:
    """Fit the straight line y = a + b x by ordinary least squares.

    Parameters
    ----------
    x, y : array, shape (n,)
        The points, all of equal weight. [any]

    Returns
    -------
    Line
        Slope, intercept, residual standard deviation and correlation; NaN where a point is NaN.

    Raises
    ------
    ValueError
        x and y are not of one length, or x has fewer than two distinct values.

    References
    ----------
    JCGM 100:2008 (GUM), annex H.3.
    """
    abscissae, ordinates = _points(x, y)
    if distinct(abscissae).size < 2:
        raise ValueError("a straight line needs at least two distinct values of x")
    x_from_mean = abscissae - abscissae.mean()
    y_from_mean = ordinates - ordinates.mean()
    x_squares = float(x_from_mean @ x_from_mean)
    y_squares = float(y_from_mean @ y_from_mean)
    products = float(x_from_mean @ y_from_mean)
    slope = products / x_squares
    residuals = y_from_mean - slope * x_from_mean
    freedom = abscissae.size - 2
    return Line(
        slope=slope,
        intercept=float(ordinates.mean() - slope * abscissae.mean()),
        residual_standard_deviation=math.sqrt(residuals @ residuals / freedom) if freedom else math.nan,
        correlation=_correlation(products, x_squares, y_squares),
    )


Complex = NDArray[np.complex128]
#: Numbers of one kind throughout: real ones, or moved by an imaginary step.
Number = TypeVar("Number", Array, Complex)
#: Length of the imaginary step by which a curve moves with its points: so short that its square is nothing beside 1.
_STEP = 1e-100


@dataclass(frozen=True, eq=False)
class ShapePreserving:
    """A smooth curve through points that never overshoots them: piecewise cubic, monotone where they are.

    Called with x it gives y. Outside the points it goes on straight with the slope of the end; whether that
    may be used is for the caller to say. Two points give the straight line through them.

    Parameters
    ----------
    x : array, shape (n,), n >= 2
        Abscissae of the points, rising. [any]
    y : array, shape (n,)
        Ordinates of the points. [any]

    Raises
    ------
    ValueError
        x and y are not of one length, are fewer than two, are not finite, or x does not rise throughout.

    References
    ----------
    F. N. Fritsch and R. E. Carlson, SIAM J. Numer. Anal. 17 (1980) 238 (the curve); F. N. Fritsch and
    J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300 (slopes inside); C. B. Moler, Numerical Computing
    with MATLAB (SIAM 2004), chapter 3 (slopes at the ends; from memory).
    """

    x: Array
    y: Array
    _knot_slopes: Array = field(init=False, repr=False)

    def __post_init__(self) -> None:
        x, y = (values.copy() for values in _points(self.x, self.y))
        if x.size < 2:
            raise ValueError(f"a curve needs at least two points, got {x.size}")
        if not (np.isfinite(x).all() and np.isfinite(y).all()):
            raise ValueError("a curve needs finite points")
        if np.any(np.diff(x) <= 0.0):
            raise ValueError("a curve needs x that rises from point to point")
        for name, values in (("x", x), ("y", y), ("_knot_slopes", _knot_slopes(x, y))):
            values.flags.writeable = False
            object.__setattr__(self, name, values)

    def __call__(self, x: FloatOrArray) -> FloatOrArray:
        """Ordinate of the curve at x: float or array, shape (m,)."""
        position, beyond, segment = self._locate(x)
        value, slope = self._cubic(position, segment)
        return plain(value + slope * beyond)

    def slope(self, x: FloatOrArray) -> FloatOrArray:
        """Slope of the curve at x: float or array, shape (m,)."""
        position, _, segment = self._locate(x)
        return plain(self._cubic(position, segment)[1])

    def by_points(self, x: Array) -> tuple[Array, Array]:
        """By how much the curve moves with each of its points.

        Parameters
        ----------
        x : array, shape (m,)
            Where it is read. [unit of x]

        Returns
        -------
        tuple of (array, array)
            By the ordinate of each point [1] and by its abscissa [unit of y over unit of x], each shape (n, m).

        References
        ----------
        W. Squire and G. Trapp, SIAM Review 40 (1998) 110: a derivative as the imaginary part of a function at a place
        moved by an imaginary step. Nothing is subtracted, so that all its digits hold.
        """
        points, ordinates, slopes = self._moved
        first, last = points[:, :1], points[:, -1:]
        place = np.where(x < self.x[0], first, np.where(x > self.x[-1], last, x))
        beyond = x - place
        segment = np.searchsorted(self.x[1:-1], place[0].real, side="right")
        width = points[:, segment + 1] - points[:, segment]
        chord = (ordinates[:, segment + 1] - ordinates[:, segment]) / width
        at_ends = slopes[:, segment], slopes[:, segment + 1]
        height, slope = _hermite(place - points[:, segment], width, chord, at_ends)
        moved = (ordinates[:, segment] + height + slope * beyond).imag / _STEP
        return moved[: self.x.size], moved[self.x.size :]

    @cached_property
    def _moved(self) -> tuple[Complex, Complex, Complex]:
        """Abscissae, ordinates and slopes of the curves with one point moved by an imaginary step, each (2n, n).

        A row for each point: its ordinate moved, then its abscissa.
        """
        count = self.x.size
        own = np.arange(count)
        x, y = (np.tile(values.astype(np.complex128), (2 * count, 1)) for values in (self.x, self.y))
        y[own, own] += 1j * _STEP
        x[count + own, own] += 1j * _STEP
        return x, y, _knot_slopes(x, y)

    def _locate(self, x: FloatOrArray) -> tuple[Array, Array, Index]:
        """Split x into the nearest place within the points and what lies beyond; NaN stays NaN."""
        wanted = np.asarray(x, dtype=np.float64)
        inside = np.minimum(np.maximum(wanted, self.x[0]), self.x[-1])
        segment = np.searchsorted(self.x[1:-1], inside, side="right")
        return inside, wanted - inside, segment

    def _cubic(self, x: Array, segment: Index) -> tuple[Array, Array]:
        """Value and slope of the Hermite cubic of each segment."""
        width = self.x[segment + 1] - self.x[segment]
        chord = (self.y[segment + 1] - self.y[segment]) / width
        slopes = self._knot_slopes[segment], self._knot_slopes[segment + 1]
        value, slope = _hermite(x - self.x[segment], width, chord, slopes)
        return self.y[segment] + value, slope


def _hermite(t: Number, width: Number, chord: Number, slopes: tuple[Number, Number]) -> tuple[Number, Number]:
    """Height above the left end, and slope, of the cubic of a segment at t from that end, by the slopes at its ends."""
    left, right = slopes
    quadratic = (3.0 * chord - 2.0 * left - right) / width
    cubic = (left + right - 2.0 * chord) / width**2
    return t * (left + t * (quadratic + t * cubic)), left + t * (2.0 * quadratic + 3.0 * t * cubic)


def _correlation(products: float, x_squares: float, y_squares: float) -> float:
    if y_squares == 0.0:
        return math.nan
    ratio = products / (math.sqrt(x_squares) * math.sqrt(y_squares))
    return float(np.clip(ratio, -1.0, 1.0))  # rounding alone can pass 1


def _points(x: ArrayLike, y: ArrayLike) -> tuple[Array, Array]:
    abscissae = np.asarray(x, dtype=np.float64)
    ordinates = np.asarray(y, dtype=np.float64)
    if abscissae.ndim != 1 or abscissae.shape != ordinates.shape:
        raise ValueError(f"x and y must be lists of one length, got {abscissae.shape} and {ordinates.shape}")
    return abscissae, ordinates


def _knot_slopes(x: Number, y: Number) -> Number:
    """Slopes at the points: harmonic means of the neighbouring chords, flat at a turning point; along the last axis."""
    widths = x[..., 1:] - x[..., :-1]
    chords = (y[..., 1:] - y[..., :-1]) / widths
    if chords.shape[-1] == 1:
        return np.repeat(chords, 2, axis=-1)
    left, right = chords[..., :-1], chords[..., 1:]
    same_way = _way(left) * _way(right) > 0.0
    weight_left = 2.0 * widths[..., 1:] + widths[..., :-1]
    weight_right = widths[..., 1:] + 2.0 * widths[..., :-1]
    resistance = weight_left / np.where(same_way, left, 1.0) + weight_right / np.where(same_way, right, 1.0)
    slopes = np.empty_like(y)
    slopes[..., 1:-1] = np.where(same_way, (weight_left + weight_right) / resistance, 0.0)
    slopes[..., 0] = _end_slope(widths[..., 0], widths[..., 1], chords[..., 0], chords[..., 1])
    slopes[..., -1] = _end_slope(widths[..., -1], widths[..., -2], chords[..., -1], chords[..., -2])
    return slopes


def _end_slope(width: Number, next_width: Number, chord: Number, next_chord: Number) -> Number:
    """Slope at an end from three points, held back so that the curve stays monotone."""
    slope = ((2.0 * width + next_width) * chord - width * next_chord) / (width + next_width)
    turning = (_way(chord) != _way(next_chord)) & (np.abs(slope.real) > 3.0 * np.abs(chord.real))
    return np.where(_way(slope) != _way(chord), 0.0, np.where(turning, 3.0 * chord, slope))


def _way(slope: Array | Complex) -> Array:
    """Whether a curve rises (1), runs level (0) or falls (-1), by the real part of its slope."""
    return np.sign(slope.real)


# Where a curve meets a level.


#: Samples in each interval between knots, and the halvings that place a crossing within it.
_SAMPLES = 64
_HALVINGS = 60
#: The parts a bracket is cut into at a time, and how often: as many halvings.
_PARTS = np.arange(64) / 64.0
_CUTS = 10
#: Share of the curve's height within which it is taken to touch a level: rounding, and no more. [1]
_TOUCH = 1e-12
_GOLDEN = (math.sqrt(5.0) - 1.0) / 2.0


def crossings(function: Callable[[Array], FloatOrArray], level: float, knots: ArrayLike) -> Array:
    """Every x at which a curve meets a level.

    Parameters
    ----------
    function : callable
        The curve: takes an array of x, gives an array of y, smooth between the knots. NaN where it is not
        defined.
    level : float
        The y to be met. [unit of y]
    knots : array, shape (n,), n >= 2
        Where to look: the first and last are the ends of the search, and each interval between two neighbours
        is sampled closely. [unit of x]

    Returns
    -------
    array, shape (m,)
        All x between the first and last knot at which the curve passes through or touches the level, rising;
        empty if there is none. A stretch that lies in the level gives its two ends. Two crossings closer
        together than 1/64 of an interval are found only where a turning point between them shows. [unit of x]

    Raises
    ------
    ValueError
        Fewer than two distinct finite knots.

    Notes
    -----
    Samples between the knots, the turning points nearest the level by golden section, then bisection of each
    change of sign.
    """
    places = distinct(np.asarray(knots, dtype=np.float64))
    if places.size < 2 or not np.isfinite(places).all():
        raise ValueError("a search for crossings needs at least two distinct finite knots")
    if not math.isfinite(level):
        return np.empty(0)
    steps = np.arange(_SAMPLES) / _SAMPLES
    x = np.append((places[:-1, None] + np.diff(places)[:, None] * steps).ravel(), places[-1])

    def height(at: Array) -> Array:
        return np.asarray(function(at), dtype=np.float64) - level

    x, signs = _signs_and_turning_points(height, x, level)
    meeting = signs == 0.0
    stretch_ends = meeting & ~(_shifted(meeting, 1) & _shifted(meeting, -1))
    passing = np.flatnonzero(signs[:-1] * signs[1:] < 0.0)
    passes = _bisect(height, x[passing], x[passing + 1])
    return np.sort(np.concatenate([x[stretch_ends], passes]))


def _signs_and_turning_points(height: Callable[[Array], Array], x: Array, level: float) -> tuple[Array, Array]:
    """Sign of the height at each x, with the places added where the curve comes nearest to the level."""
    heights = height(x)
    finite = heights[np.isfinite(heights)]
    rounding = _TOUCH * max(abs(level), float(np.abs(finite + level).max(initial=0.0)))
    signs = _signs(heights, rounding)
    one_side = (signs[:-2] == signs[1:-1]) & (signs[1:-1] == signs[2:]) & (signs[1:-1] != 0.0)
    away = np.abs(heights)
    middle = 1 + np.flatnonzero(one_side & (away[1:-1] < away[:-2]) & (away[1:-1] <= away[2:]))
    if middle.size == 0:
        return x, signs
    turning = _golden_section(height, x[middle - 1], x[middle + 1], side=signs[middle])
    all_x = np.concatenate([x, turning])
    all_signs = np.concatenate([signs, _signs(height(turning), rounding)])
    order = np.argsort(all_x, kind="stable")
    return all_x[order], all_signs[order]


def _signs(heights: Array, rounding: float) -> Array:
    """Sign of each height, 0 where it is only rounding; NaN stays NaN."""
    return np.where(np.abs(heights) <= rounding, 0.0, np.sign(heights))


def _golden_section(height: Callable[[Array], Array], low: Array, high: Array, *, side: Array) -> Array:
    """Place between low and high where ``side * height`` is least."""
    for _ in range(_HALVINGS):
        span = _GOLDEN * (high - low)
        first, second = high - span, low + span
        go_left = side * height(first) <= side * height(second)
        low, high = np.where(go_left, low, first), np.where(go_left, second, high)
    return 0.5 * (low + high)


def _bisect(height: Callable[[Array], Array], low: Array, high: Array) -> Array:
    """Place of the change of sign in each bracket, which is cut into many parts at a time."""
    if low.size == 0:
        return low
    side, which = np.sign(height(low)), np.arange(low.size)
    for _ in range(_CUTS):
        places = np.concatenate([low + (high - low) * _PARTS[:, None], high[None]])
        before = np.sign(height(places.ravel()).reshape(places.shape)) == side
        last = np.argmin(before[1:], axis=0)  # the first place past the change follows it
        low, high = places[last, which], places[last + 1, which]
    return 0.5 * (low + high)


def _shifted(flags: Mask, by: int) -> Mask:
    """The neighbour's flag at each place, false past the end."""
    moved = np.roll(flags, by)
    moved[0 if by > 0 else -1] = False
    return moved
