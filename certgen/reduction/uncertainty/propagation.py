"""From uncertain inputs to the uncertainty of every load point and of every point read off the load curve."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from certgen.messages.catalogue import Message
from certgen.physics.domain import Array
from certgen.readings.model import Table
from certgen.reduction.load_curve import READ_OFF_BY, LoadCurve
from certgen.reduction.model import LoadPoints, OperatingPoint
from certgen.reduction.uncertainty.errors import Errors, parts_of, sensitivities, uncertainty_of
from certgen.reduction.uncertainty.interpolation import QUANTITIES, AlongCurve
from certgen.reduction.uncertainty.linear import Correlated, Error, derivatives, linear, of_errors
from certgen.reduction.uncertainty.model import (
    Contribution,
    Measured,
    UncertainInput,
    Uncertainties,
    Uncertainty,
)

# Load points as correlated values: every input perturbed once, every quantity of every row watched.


PointsOf = Callable[[Measured], LoadPoints]


@dataclass(frozen=True, eq=False)
class Sources:
    """The library's variables and which input each stands for."""

    input_of: Mapping[Any, UncertainInput]
    variables: tuple[tuple[Any, ...], ...]  # for each input one variable for all rows, or one a row
    shared: Mapping[Message, Any]  # by the name of the input, those that all tables have in common


def sources_of(inputs: Sequence[UncertainInput], rows: int) -> Sources:
    """A variable for every error that can occur: one for a shared input, one a row for an independent one.

    An input whose uncertainty is not known gets its step, so that what depends on it is known.
    """
    input_of: dict[Any, UncertainInput] = {}
    variables = []
    for one in inputs:
        own = tuple(Error(0.0, one.size) for _ in range(1 if one.shared else rows))
        input_of.update((variable, one.of_row(row)) for row, variable in enumerate(own))
        variables.append(own)
    shared = {one.name: own[0] for one, own in zip(inputs, variables, strict=True) if one.shared}
    return Sources(input_of, tuple(variables), shared)


def correlated_points(
    measured: Measured, nominal: LoadPoints, points_of: PointsOf, inputs: Sequence[UncertainInput], sources: Sources
) -> dict[str, list[Correlated]]:
    """Every quantity of every row with its dependence on the inputs.

    Parameters
    ----------
    measured : Measured
        Rig and readings as they are. [SI]
    nominal : LoadPoints
        The load points they give, n rows. [SI]
    points_of : callable
        The chain from readings to load points.
    inputs : sequence of UncertainInput
        What is perturbed.
    sources : Sources
        The variable of each input.

    Returns
    -------
    dict
        Name of quantity to n values, ``None`` where the quantity was not measured.

    References
    ----------
    JCGM 100:2008, 5.1.3 note 2: sensitivities by moving an input up and down by its standard uncertainty.
    """
    columns = measured.readings.load_test.columns.keys()

    def watched(moved: Measured) -> dict[str, Array]:
        found = points_of(moved)
        return {name: getattr(found, name) for name in QUANTITIES}

    able = [
        (one, own)
        for one, own in zip(inputs, sources.variables, strict=True)
        if not one.columns or one.columns & columns
    ]
    slopes = sensitivities(measured, watched, [one for one, _ in able])
    errors = [[own[row if len(own) > 1 else 0] for _, own in able] for row in range(nominal.count)]
    return {
        name: [
            of_errors(value, of_row, own) if math.isfinite(value) else None
            for value, of_row, own in zip(
                getattr(nominal, name).tolist(), np.array([one[name] for one in slopes]).T.tolist(), errors, strict=True
            )
        ]
        for name in QUANTITIES
    }


# The uncertainty of every load point and of every point read off the load curve.


_INTERPOLATION = Message("input.interpolation")


@dataclass(frozen=True, eq=False)
class RowErrors:
    """The load points, ``tested``, of one test with the errors of every quantity of every row, ``values``."""

    measured: Measured
    inputs: tuple[UncertainInput, ...]
    tested: LoadPoints
    sources: Sources
    values: Mapping[str, list[Correlated]]

    def between_rows(self, name: str) -> Array:
        """Standard uncertainty of a quantity of each row against the others, shape (n,): what rows share is no part."""
        known = self.sources.input_of
        squares = [
            sum((slope * error.size) ** 2 for error, slope in derivatives(one).items() if not known[error].shared)
            for one in self.values[name]
        ]
        return np.asarray(np.sqrt(np.array(squares, dtype=np.float64)))


def row_errors(
    measured: Measured, inputs: Sequence[UncertainInput], tested: LoadPoints, points_of: PointsOf
) -> RowErrors:
    """Every load point with its errors.

    Parameters
    ----------
    measured : Measured
        Rig and readings. [SI]
    inputs : sequence of UncertainInput
        The sources of uncertainty.
    tested : LoadPoints
        The load points, n rows. [SI]
    points_of : callable
        The chain from measured values to load points.

    Returns
    -------
    RowErrors
        With a variable for every error. [SI]
    """
    sources = sources_of(inputs, tested.count)
    values = correlated_points(measured, tested, points_of, inputs, sources)
    return RowErrors(measured, tuple(inputs), tested, sources, values)


@dataclass(frozen=True, eq=False)
class Fitted:
    """The load curve and the points read off it."""

    curve: LoadCurve
    operating: Mapping[str, OperatingPoint | None]


def propagate(of_rows: RowErrors, fitted: Fitted | None, *, tables: Mapping[str, Table] | None = None) -> Uncertainties:
    """The uncertainty of every load point and operating point, with their budgets.

    Parameters
    ----------
    of_rows : RowErrors
        The load points with their errors, n rows. [SI]
    fitted : Fitted or None
        The load curve, where there is one.
    tables : mapping or None
        Every table of the test by name, for the figures made of them. [SI]

    Returns
    -------
    Uncertainties
        A figure that depends on an input of which nothing could be said has none, and says what to state.

    Notes
    -----
    Errors of shared inputs stay correlated through averages, curve and read-off, as the propagation library keeps the
    dependence of every value on every input. Which rows make a knot of the curve was decided on the readings as they
    are, and holds for every error of them.

    References
    ----------
    JCGM 100:2008, 5.1 and 5.2 (propagation), G.4 (effective degrees of freedom), G.6.4 (coverage factor).
    """
    measured, inputs, tested = of_rows.measured, of_rows.inputs, of_rows.tested
    sources, points = of_rows.sources, of_rows.values
    known = dict(sources.input_of)
    along = None if fitted is None else along_curve(fitted.curve, points, known)
    operating = {} if fitted is None or along is None else _operating(fitted, along)
    rows = tuple(
        PointUncertainties({name: points[name][row] for name in QUANTITIES if points[name][row] is not None}, known)
        for row in range(tested.count)
    )
    read_off = {name: PointUncertainties(values, known) for name, values in operating.items()}
    return Uncertainties(
        points=rows,
        operating=read_off,
        budgets=_budgets(points, operating, tested, known),
        missing_inputs=tuple(
            dict.fromkeys(one.to_state for one in inputs if one.to_state is not None and not one.known)
        ),
        assumed_inputs=lambda: _assumed_that_matter(inputs, [*rows, *read_off.values()], measured),
        inputs=inputs,
        correlated=operating,
        errors=Errors(measured, inputs, tables or {}, sources.shared, known, points, along),
    )


@dataclass(frozen=True, eq=False)
class PointUncertainties(Mapping[str, Uncertainty]):
    """The uncertainty of every quantity of one point, worked out when it is first asked for."""

    values_of: Mapping[str, Correlated]
    known: Mapping[Any, UncertainInput]
    _found: dict[str, Uncertainty] = field(default_factory=dict, repr=False)

    def __getitem__(self, name: str) -> Uncertainty:
        if name not in self._found:
            self._found[name] = uncertainty_of(self.values_of[name], self.known)
        return self._found[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self.values_of)

    def __len__(self) -> int:
        return len(self.values_of)


def _assumed_that_matter(
    inputs: Sequence[UncertainInput], figures: Sequence[Mapping[str, Uncertainty]], measured: Measured
) -> tuple[UncertainInput, ...]:
    """Inputs that were assumed and matter to one of the figures, or were read in other tables only."""
    named = {id(one): one for of_point in figures for figure in of_point.values() for one in figure.assumed}
    texts = {str(one) for one in named.values()}
    columns = measured.readings.load_test.columns.keys()
    return tuple(
        one for one in inputs
        if one.assumed and (one.assumed_as in texts or (one.columns and not one.columns & columns))
    )  # fmt: skip


def along_curve(
    curve: LoadCurve, points: Mapping[str, Sequence[Correlated]], known: dict[Any, UncertainInput]
) -> AlongCurve:
    """The curve with the errors of its knots, each the weighted mean of the rows that make it, and of interpolating.

    Parameters
    ----------
    curve : LoadCurve
        The load curve.
    points : mapping
        Every quantity of every row with its errors. [SI]
    known : dict
        Which input each error is of; gets those of interpolating added.
    """
    found: dict[tuple[int, str], Correlated] = {}

    def at_knot(place: int, name: str) -> Correlated:
        if (place, name) not in found:
            knot = curve.knots[place]
            read = [(weight, points[name][row]) for weight, row in zip(knot.weights, knot.rows, strict=True)]
            counting = [(float(weight), one) for weight, one in read if one is not None]
            total = sum(weight for weight, _ in counting)
            found[place, name] = linear(0.0, [(weight / total, one) for weight, one in counting])
        return found[place, name]

    def between(size: float) -> Correlated:
        variable = Error(0.0, size)
        known[variable] = UncertainInput(
            _INTERPOLATION, "", size, lambda measured, _: measured, shared=False, step=size
        )
        return variable

    return AlongCurve(curve, at_knot, between)


def _operating(fitted: Fitted, along: AlongCurve) -> dict[str, dict[str, Correlated]]:
    read = {name: point.point for name, point in fitted.operating.items() if point is not None}
    found = along.read_off([(READ_OFF_BY[name], point) for name, point in read.items()])
    return {name: values for name, values in zip(read, found, strict=True) if values}


#: Quantities that get a budget.
BUDGETED = ("shaft_power", "efficiency", "torque", "speed", "current", "input_power")


def _budgets(
    points: Mapping[str, list[Correlated]],
    operating: Mapping[str, Mapping[str, Correlated]],
    tested: LoadPoints,
    known: Mapping[Any, UncertainInput],
) -> Budgets:
    """Budgets of the operating points, and of the heaviest tested point."""
    listed = {name: dict(values) for name, values in operating.items()}
    if np.isfinite(tested.shaft_power).any():
        row = int(np.nanargmax(tested.shaft_power))
        listed[f"points[{row}]"] = {name: points[name][row] for name in QUANTITIES if points[name][row] is not None}
    return Budgets(listed, known)


@dataclass(frozen=True, eq=False)
class Budgets(Mapping[str, "dict[str, tuple[Contribution, ...]]"]):
    """The budget of each point by its name, worked out when it is asked for: a page shows one of them."""

    values_at: Mapping[str, Mapping[str, Correlated]]
    known: Mapping[Any, UncertainInput]

    def __getitem__(self, at: str) -> dict[str, tuple[Contribution, ...]]:
        values = self.values_at[at]
        return {name: budget_of(values[name], self.known) for name in BUDGETED if name in values}

    def __iter__(self) -> Iterator[str]:
        return iter(self.values_at)

    def __len__(self) -> int:
        return len(self.values_at)


def budget_of(value: Correlated, known: Mapping[Any, UncertainInput]) -> tuple[Contribution, ...]:
    """The lines of one figure's budget, the largest share first; empty where an input is not known.

    References
    ----------
    EA-4/02 M:2022, section 4 and appendix examples: what a budget lists.
    """
    parts = parts_of(value, known)
    if any(not one.known for one, _ in parts.values()):
        return ()
    variance = sum(size**2 for _, size in parts.values())
    lines = [_line(value, one, size, variance, known) for one, size in parts.values() if variance > 0.0]
    # Shares that differ by rounding alone stay in the order of the inputs, on every machine.
    return tuple(sorted(lines, key=lambda line: -float(f"{line.share:.6g}")))


def _line(
    value: Correlated, one: UncertainInput, size: float, variance: float, known: Mapping[Any, UncertainInput]
) -> Contribution:
    slopes = [slope for variable, slope in derivatives(value).items() if known[variable] is one]
    # What has no unit of its own, such as the course of a curve, has the figure's.
    standard_uncertainty = one.standard_uncertainty if one.unit else size
    sensitivity = float(slopes[0]) if one.unit and one.shared and slopes else size / standard_uncertainty
    return Contribution(
        name=one.name,
        unit=one.unit,
        estimate=one.estimate,
        standard_uncertainty=standard_uncertainty,
        degrees_of_freedom=one.degrees_of_freedom,
        distribution=one.distribution,
        sensitivity=sensitivity,
        contribution=size,
        share=size**2 / variance,
        assumed=one.assumed,
        of_reading=one.of_reading,
    )
