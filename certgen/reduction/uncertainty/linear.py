"""Values that depend on errors to first order, as the propagation library keeps them."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import chain
from typing import Any

import numpy as np
from uncertainties.core import AffineScalarFunc, Variable

from certgen.physics.domain import Array

#: A value that carries its dependence on every uncertain input; a plain float where it depends on none, ``None``
#: where it is not known.
Correlated = Any


class Error(Variable):  # type: ignore[misc]  # the library has no types
    """One error about zero, independent of all others, known by what it is and not by its size."""

    __slots__ = ("size",)
    #: The library's own distinguishes variables likewise, but in Python, and every sum of errors asks for it.
    __hash__ = object.__hash__

    def __init__(self, value: float, size: float) -> None:
        super().__init__(value, size)
        self.size = size  # its standard uncertainty, which the library keeps behind a property


#: Step of the differences, as a part of a value, or of a thousandth where it is less; the formulas are smooth enough.
_STEP = 1e-4
#: Where a formula is asked for its slope, in steps, and the weight of each: the five-point rule, which misses by the
#: fourth power of the step. Its steps may be long, so that rounding is not seen. M. Abramowitz and I. Stegun, Handbook of
#: Mathematical Functions (1964), 25.3.6.
STENCIL = {-2.0: 1.0 / 12.0, -1.0: -8.0 / 12.0, 1.0: 8.0 / 12.0, 2.0: -1.0 / 12.0}


def steps_of(values: Array) -> Array:
    """Step of each value by which it moves for a slope, in its unit and shape."""
    return np.asarray(_STEP * np.maximum(np.abs(values), 1e-3))


def linear(value: float, terms: Iterable[tuple[float, Correlated]]) -> Correlated:
    """A value that moves with others by given slopes.

    Parameters
    ----------
    value : float
        The value itself. [any]
    terms : iterable of (float, Correlated)
        By how much it moves with another value [any over its unit], and that value.

    Returns
    -------
    Correlated
        The value with its dependence on the errors of the others.
    """
    slopes: dict[Any, float] = {}
    for slope, other in terms:
        if not slope or not math.isfinite(slope):
            continue
        parts = derivatives(other)
        if not slopes:
            slopes = {error: slope * part for error, part in parts.items()}
            continue
        known = slopes.get
        for error, part in parts.items():
            slopes[error] = known(error, 0.0) + slope * part
    return _with_errors(value, slopes)


def of_errors(value: float, slopes: Iterable[float], errors: Iterable[Any]) -> Correlated:
    """As :func:`linear`, for a value that moves with errors themselves, each named once."""
    return _with_errors(
        value, {error: slope for slope, error in zip(slopes, errors, strict=True) if slope and math.isfinite(slope)}
    )


def combined(values: Sequence[float], slopes: Array, others: Sequence[Correlated]) -> list[Correlated]:
    """As :func:`linear`, for several values that move with the same others.

    Parameters
    ----------
    values : sequence of float
        m values. [any]
    slopes : array, shape (m, k)
        By how much each moves with each of the others. [any over its unit]
    others : sequence of Correlated
        The k others.

    Returns
    -------
    list of Correlated
        The m values, by one product of matrices: slopes times the dependence of the others on every error.
    """
    if len(values) == 1:  # no product is needed for one
        return [linear(values[0], zip(slopes[0].tolist(), others, strict=True))]
    dependence = [derivatives(one) for one in others]
    column = {error: place for place, error in enumerate(dict.fromkeys(chain.from_iterable(dependence)))}
    matrix = np.zeros((len(others), len(column)))
    for row, of in zip(matrix, dependence, strict=True):
        row[[column[error] for error in of]] = list(of.values())
    sums = np.where(np.isfinite(slopes), slopes, 0.0) @ matrix
    return [
        _with_errors(value, {error: slope for error, slope in zip(column, row, strict=True) if slope})
        for value, row in zip(values, sums.tolist(), strict=True)
    ]


def _with_errors(value: float, slopes: dict[Any, float]) -> Correlated:
    return AffineScalarFunc(float(value), slopes) if slopes else float(value)


def nominal(value: Correlated) -> float:
    """The value alone; NaN where it is not known."""
    if value is None:
        return math.nan
    return float(value.nominal_value if isinstance(value, AffineScalarFunc) else value)


def nominals(values: Sequence[Correlated]) -> Array:
    """The values alone, shape (n,); NaN where not known."""
    return np.array([nominal(one) for one in values])


def derivatives(value: Correlated) -> dict[Any, float]:
    """By how much a value moves with each error."""
    return value.derivatives if isinstance(value, AffineScalarFunc) else {}


def propagated(function: Callable[..., Array], values: Sequence[Sequence[Correlated]]) -> list[Correlated]:
    """A formula of several quantities, row by row, as :func:`all_propagated`: n values."""
    return all_propagated(lambda *at: {"": np.asarray(function(*at), dtype=np.float64)}, values)[""]


def all_propagated(
    function: Callable[..., Mapping[str, Array]], values: Sequence[Sequence[Correlated]]
) -> dict[str, list[Correlated]]:
    """Formulas of several quantities, row by row: their values with the errors of all arguments.

    Parameters
    ----------
    function : callable
        Takes one array a quantity, shape (n,) or (k, n) where many are asked for at a time, and gives by name arrays
        that are made element by element.
    values : sequence of sequences of Correlated
        The quantities, n values each.

    Returns
    -------
    dict
        By name n values, ``None`` where a formula gives none.

    References
    ----------
    JCGM 100:2008, 5.1.3: partial derivatives, here by differences, all rows at once.
    """
    moving = [column for column in values if any(map(derivatives, column))]
    at, steps = _stacked(values, moving)
    shape = (1 + len(STENCIL) * len(moving), len(values[0]))
    stacks = {name: np.broadcast_to(rows, shape) for name, rows in function(*at).items()}
    slopes = np.array([_slopes(stack[1:]) / steps for stack in stacks.values()])
    rows = [
        combined([stack[0, row] for stack in stacks.values()], slopes[:, :, row], [one[row] for one in moving])
        for row in range(shape[1])
    ]
    return {
        name: [of[place] if math.isfinite(stack[0, row]) else None for row, of in enumerate(rows)]
        for place, (name, stack) in enumerate(stacks.items())
    }


def _stacked(values: Sequence[Sequence[Correlated]], moving: Sequence[object]) -> tuple[list[Array], Array]:
    """Each quantity as it is, and one after the other of those that have errors at each place of the stencil, in rows."""
    at: list[Array] = []
    steps: list[Array] = []
    for column in values:
        alone = nominals(column)
        if any(column is one for one in moving):
            step = steps_of(alone)
            stack = np.tile(alone, (1 + len(STENCIL) * len(moving), 1))
            first = 1 + len(STENCIL) * len(steps)
            stack[first : first + len(STENCIL)] += np.outer([*STENCIL], step)
            steps.append(step)
            at.append(stack)
        else:
            at.append(alone)
    return at, np.array(steps).reshape(len(steps), len(values[0]))


def _slopes(moved: Array) -> Array:
    """Slopes, in steps, of what was asked for at the places of the stencil, moved thing by moved thing in rows."""
    by_place = moved.reshape(-1, len(STENCIL), moved.shape[-1])
    return sum(
        (weight * by_place[:, place] for place, weight in enumerate(STENCIL.values())), np.zeros(by_place.shape[::2])
    )


def single(function: Callable[..., Any], *values: Correlated) -> Correlated:
    """As :func:`propagated`, for one value each; ``None`` where one of them is not known."""
    if any(one is None for one in values):
        return None
    return propagated(function, [[one] for one in values])[0]


def straight_line(x: Sequence[Correlated], y: Sequence[Correlated]) -> tuple[Correlated, Correlated]:
    """Slope and intercept of the least-squares line with their dependence on the errors of the points.

    Parameters
    ----------
    x, y : sequence of Correlated
        n points. [any]

    Returns
    -------
    tuple of (Correlated, Correlated)
        Slope [unit of y over unit of x] and intercept [unit of y].

    References
    ----------
    JCGM 100:2008, H.3.2, equations (H.13a) and (H.13b), differentiated by each abscissa and ordinate.
    """
    abscissae, ordinates = nominals(x), nominals(y)
    from_mean = abscissae - abscissae.mean()
    squares = float(from_mean @ from_mean)
    slope = float(from_mean @ ordinates) / squares
    intercept = float(ordinates.mean() - slope * abscissae.mean())
    residual = ordinates - intercept - slope * abscissae
    by_y = from_mean / squares
    by_x = (residual - slope * from_mean) / squares
    count, middle = abscissae.size, float(abscissae.mean())
    lines = [
        (slope, by_x, by_y),
        (intercept, -slope / count - middle * by_x, 1.0 / count - middle * by_y),
    ]
    found = [linear(value, [*zip(of_x, x, strict=True), *zip(of_y, y, strict=True)]) for value, of_x, of_y in lines]
    return found[0], found[1]


def weighted(values: Sequence[Correlated], weights: Array) -> Correlated:
    """A weighted sum of values; ``None`` where one that counts is not known."""
    counting = [(float(weight), one) for weight, one in zip(weights, values, strict=True) if weight]
    if not counting or any(one is None for _, one in counting):
        return None
    return linear(sum(weight * nominal(one) for weight, one in counting), counting)
