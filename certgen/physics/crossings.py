"""Where a curve meets a level."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from certgen.physics.curves import distinct

Array = NDArray[np.float64]
FloatOrArray = float | Array

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


def _shifted(flags: NDArray[np.bool_], by: int) -> NDArray[np.bool_]:
    """The neighbour's flag at each place, false past the end."""
    moved = np.roll(flags, by)
    moved[0 if by > 0 else -1] = False
    return moved
