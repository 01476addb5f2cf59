"""Uncertain inputs to the doubt of every load point and of every point read off the load curve."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from uncertainties import ufloat

from certgen.physics.uncertainty import effective_degrees_of_freedom, expanded
from certgen.reduction.load_curve import READ_OFF_BY, LoadCurve
from certgen.reduction.model import LoadPoints, OperatingPoint
from certgen.reduction.uncertainty.model import Contribution, Doubt, Measured, UncertainInput, Uncertainties
from certgen.reduction.uncertainty.points import (
    QUANTITIES,
    Correlated,
    PointsOf,
    correlated_points,
    sources_of,
)
from certgen.reduction.uncertainty.read_off import Gradient, read_off_gradient

Array = NDArray[np.float64]

#: An error's effect smaller than this part of a value is the arithmetic's, not the input's.
_NOTHING = 1e-9
_INTERPOLATION = "interpolation between load points"


@dataclass(frozen=True, eq=False)
class Fitted:
    """The load curve with the rows of the load test it rests on, and the points read off it."""

    curve: LoadCurve
    rows: NDArray[np.intp]
    operating: Mapping[str, OperatingPoint | None]


def propagate(
    measured: Measured,
    inputs: Sequence[UncertainInput],
    nominal: LoadPoints,
    points_of: PointsOf,
    fitted: Fitted | None,
) -> Uncertainties:
    """Doubts of every load point and operating point, with their budgets.

    Parameters
    ----------
    measured : Measured
        Rig and readings. [SI]
    inputs : sequence of UncertainInput
        The sources of doubt.
    nominal : LoadPoints
        The load points, n rows. [SI]
    points_of : callable
        The chain from measured values to load points.
    fitted : Fitted or None
        The load curve, where there is one.

    Returns
    -------
    Uncertainties
        A figure that depends on an input the rig does not state has none, and says what is lacking.

    Notes
    -----
    Errors of shared inputs stay correlated through averages, curve and read-off, as the propagation library keeps the
    dependence of every value on every input.

    References
    ----------
    JCGM 100:2008, 5.1 and 5.2 (propagation), G.4 (effective degrees of freedom), G.6.4 (coverage factor).
    """
    sources = sources_of(inputs, nominal.count)
    points = correlated_points(measured, nominal, points_of, inputs, sources)
    known = dict(sources.input_of)
    operating = {} if fitted is None else _operating(fitted, points, known)
    rows = tuple(
        {name: _doubt(points[name][row], known) for name in QUANTITIES if points[name][row] is not None}
        for row in range(nominal.count)
    )
    return Uncertainties(
        points=rows,
        operating={
            name: {key: _doubt(one, known) for key, one in values.items()} for name, values in operating.items()
        },
        budgets=_budgets(points, operating, nominal, known),
        lacking=tuple(dict.fromkeys(one.lacking for one in inputs if not one.stated)),
        inputs=tuple(inputs),
        correlated=operating,
    )


def _operating(
    fitted: Fitted, points: Mapping[str, list[Correlated]], known: dict[Any, UncertainInput]
) -> dict[str, dict[str, Correlated]]:
    found = {}
    for name, point in fitted.operating.items():
        if point is not None:
            torque = float(point.point.torque[0])
            gradient = read_off_gradient(fitted.curve, READ_OFF_BY[name], torque)
            if gradient is not None:
                found[name] = _read_off(point.point, gradient, fitted, points, known)
    return found


def _read_off(
    point: LoadPoints,
    gradient: Gradient,
    fitted: Fitted,
    points: Mapping[str, list[Correlated]],
    known: dict[Any, UncertainInput],
) -> dict[str, Correlated]:
    """A point read off the curve as values that depend on the errors of the tested points around it."""
    errors = [(slopes, _error_at_knot(fitted, points, knot, name)) for (knot, name), slopes in gradient.by_knot.items()]
    for name, size in gradient.curve_error.items():
        if size > 0.0:
            variable = ufloat(0.0, size)
            known[variable] = _interpolation_input(size)
            errors.append((gradient.by_curve[name], variable))
    values: dict[str, Correlated] = {}
    for quantity in QUANTITIES:
        nominal = float(getattr(point, quantity)[0])
        if math.isfinite(nominal):
            values[quantity] = _sum(nominal, ((slopes[quantity], error) for slopes, error in errors))
    return values


def _sum(nominal: float, terms: Iterable[tuple[float, Correlated]]) -> Correlated:
    value: Correlated = nominal
    for slope, error in terms:
        if slope and not isinstance(error, float):
            value = value + slope * error
    return value


def _error_at_knot(fitted: Fitted, points: Mapping[str, list[Correlated]], knot: int, name: str) -> Correlated:
    """Error of the mean of the rows that make a knot of the curve, about zero."""
    torques = points["torque"]
    wanted = fitted.curve.torque[knot]
    rows = [row for row in fitted.rows if torques[row] is not None and _nominal(torques[row]) == wanted]
    values = [points[name][row] for row in rows if points[name][row] is not None]
    if not values:
        return 0.0
    mean = sum(values) / len(values)
    return mean - _nominal(mean)


def _nominal(value: Correlated) -> float:
    return float(value.nominal_value if hasattr(value, "nominal_value") else value)


def _interpolation_input(size: float) -> UncertainInput:
    return UncertainInput(_INTERPOLATION, "", size, lambda measured, _: measured, shared=False, step=size)


def _parts(value: Correlated, known: Mapping[Any, UncertainInput]) -> dict[str, tuple[UncertainInput, float]]:
    """Contribution of each input, by its name: the errors of its rows together."""
    parts: dict[str, tuple[UncertainInput, float]] = {}
    if not hasattr(value, "error_components"):
        return parts
    least = _NOTHING * max(abs(_nominal(value)), 1e-12)
    for variable, size in value.error_components().items():
        one = known[variable]
        if one.name in parts:
            parts[one.name] = _together(parts[one.name], (one, size))
        elif size > least:
            parts[one.name] = (one, size)
    return parts


def _together(
    first: tuple[UncertainInput, float], second: tuple[UncertainInput, float]
) -> tuple[UncertainInput, float]:
    """The errors of two rows of one input, whose degrees of freedom may differ."""
    (one, size), (other, more) = first, second
    if one.degrees_of_freedom != other.degrees_of_freedom and more > 0.0:
        sizes, freedoms = np.array([size, more]), np.array([one.degrees_of_freedom, other.degrees_of_freedom])
        one = replace(one, degrees_of_freedom=effective_degrees_of_freedom(sizes, freedoms))
    return one, math.hypot(size, more)


def _doubt(value: Correlated, known: Mapping[Any, UncertainInput]) -> Doubt:
    parts = _parts(value, known)
    lacking = tuple(dict.fromkeys(one.lacking for one, _ in parts.values() if not one.stated))
    if lacking:
        return Doubt(None, None, None, None, lacking)
    sizes = np.array([size for _, size in parts.values()])
    standard = float(np.sqrt(np.sum(sizes**2)))
    if standard == 0.0:
        return Doubt(None, None, None, None)
    freedom = effective_degrees_of_freedom(sizes, np.array([one.degrees_of_freedom for one, _ in parts.values()]))
    half_width, factor = expanded(standard, freedom)
    return Doubt(standard, freedom, factor, half_width)


#: Quantities that get a budget.
BUDGETED = ("shaft_power", "efficiency", "torque", "speed", "current", "input_power")


def _budgets(
    points: Mapping[str, list[Correlated]],
    operating: Mapping[str, Mapping[str, Correlated]],
    nominal: LoadPoints,
    known: Mapping[Any, UncertainInput],
) -> dict[str, dict[str, tuple[Contribution, ...]]]:
    """Budgets of the operating points, and of the heaviest tested point."""
    listed = {name: dict(values) for name, values in operating.items()}
    if np.isfinite(nominal.shaft_power).any():
        row = int(np.nanargmax(nominal.shaft_power))
        listed[f"points[{row}]"] = {name: points[name][row] for name in QUANTITIES if points[name][row] is not None}
    return {
        at: {name: budget_of(values[name], known) for name in BUDGETED if name in values}
        for at, values in listed.items()
    }


def budget_of(value: Correlated, known: Mapping[Any, UncertainInput]) -> tuple[Contribution, ...]:
    """The lines of one figure's budget, the largest share first; empty where an input is not stated.

    References
    ----------
    EA-4/02 M:2022, section 4 and appendix examples: what a budget lists.
    """
    parts = _parts(value, known)
    if any(not one.stated for one, _ in parts.values()):
        return ()
    variance = sum(size**2 for _, size in parts.values())
    lines = [_line(value, one, size, variance, known) for one, size in parts.values() if variance > 0.0]
    return tuple(sorted(lines, key=lambda line: -line.share))


def _line(
    value: Correlated, one: UncertainInput, size: float, variance: float, known: Mapping[Any, UncertainInput]
) -> Contribution:
    slopes = [slope for variable, slope in value.derivatives.items() if known[variable] is one]
    sensitivity = float(slopes[0]) if one.shared and slopes else size / one.standard_uncertainty
    return Contribution(
        name=one.name,
        unit=one.unit,
        estimate=one.estimate,
        standard_uncertainty=one.standard_uncertainty,
        degrees_of_freedom=one.degrees_of_freedom,
        distribution=one.distribution,
        sensitivity=sensitivity,
        contribution=size,
        share=size**2 / variance,
    )
