"""Every error of one test by its variable, and the figures that are made from readings with those errors."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from certgen.messages.catalogue import Message
from certgen.physics.domain import Array
from certgen.physics.uncertainty import coverage_factor, effective_degrees_of_freedom, expanded
from certgen.readings.model import Table
from certgen.reduction.uncertainty.interpolation import AlongCurve
from certgen.reduction.uncertainty.linear import Correlated, Error, derivatives, linear, nominal, of_errors
from certgen.reduction.uncertainty.model import LOCAL_GRAVITY, Measured, UncertainInput, Uncertainty

#: Quantities of a table, by name, from a test that has it in place of the load test.
Of = Callable[[Measured], Mapping[str, Array]]

#: An error's effect smaller than this part of a value is the arithmetic's, not the input's.
_NOTHING = 1e-9


def columns_of(measured: Measured) -> Mapping[str, Array]:
    """The columns of a table as they were read."""
    return measured.readings.load_test.columns


@dataclass(frozen=True, eq=False)
class Errors:
    """The variables of the propagation library for one test, and what was made of them so far.

    ``shared`` holds one variable for each error that all tables have in common, ``known`` says of each variable which
    input it is of. ``points`` are the load points, ``along`` the load curve where there is one.
    """

    measured: Measured
    inputs: tuple[UncertainInput, ...]
    tables: Mapping[str, Table]
    shared: Mapping[Message, Any]
    known: dict[Any, UncertainInput]
    points: Mapping[str, Sequence[Correlated]]
    along: AlongCurve | None = None
    _read: dict[str, Mapping[str, list[Correlated]]] = field(default_factory=dict, repr=False)

    def read(self, name: str) -> Mapping[str, list[Correlated]]:
        """The columns of a table with their errors, the same ones whenever asked; empty where it was not read."""
        if name not in self._read:
            table = self.tables.get(name)
            self._read[name] = {} if table is None else self.of_table(table)
        return self._read[name]

    def of_table(
        self, table: Table, of: Of = columns_of, *, rig: bool = False, at_once: bool = True
    ) -> dict[str, list[Correlated]]:
        """Quantities made from a table, row by row, with their errors.

        Parameters
        ----------
        table : Table
            n rows. [SI]
        of : callable
            The quantities, n values each, from a test that has the table in place of the load test.
        rig : bool
            Whether they rest on rig, zero or supply too, not on the table's columns alone.
        at_once : bool
            Whether ``of`` takes many moved tests at a time.

        Returns
        -------
        dict
            Name of quantity to n values, ``None`` where not known. Errors all tables share are those of the load test;
            errors of single readings are new in every row.
        """
        measured = with_table(self.measured, table)
        found = of(measured)
        able = [one for one in self.inputs if (one.columns & table.columns.keys() if one.columns else rig)]
        moving = [
            (slopes, self._own(one, table.rows))
            for one, slopes in zip(able, sensitivities(measured, of, able, at_once=at_once), strict=True)
            if any(np.any(slope != 0.0) for slope in slopes.values())
        ]
        return {
            name: [
                of_errors(value, [slopes[name][row] for slopes, _ in moving], [own[row] for _, own in moving])
                if math.isfinite(value)
                else None
                for row, value in enumerate(values)
            ]
            for name, values in found.items()
        }

    def _own(self, one: UncertainInput, rows: int) -> Sequence[Any]:
        if one.shared:
            return [self.shared[one.name]] * rows
        return [self.variable(one) for _ in range(rows)]

    def variable(self, one: UncertainInput) -> Any:
        """A new error of an input's size, independent of all others."""
        made = Error(0.0, one.size)
        self.known[made] = one
        return made

    def scattered(self, value: Correlated, name: Message, standard: float, freedom: int) -> Correlated:
        """A fitted value whose readings scatter about the fit by more than their own errors explain.

        Parameters
        ----------
        value : Correlated
            The value with the errors of the readings it was fitted to. [any]
        name : Message
            What the scatter is of, for the budget.
        standard : float
            Standard uncertainty of the value by the residuals. [as value]
        freedom : int
            Degrees of freedom of the residuals.

        Returns
        -------
        Correlated
            With what the residuals show beyond the errors of single readings: together they make ``standard``, unless
            those errors are larger already. As it was where nothing is left over to judge by.

        References
        ----------
        JCGM 100:2008, 4.2 (type A), 4.3.10 (no component is counted twice), H.3 (fits).
        """
        if freedom < 1 or not math.isfinite(standard) or value is None:
            return value
        own = [part * one.size for one, part in derivatives(value).items() if not self.known[one].shared]
        excess = standard**2 - sum(size**2 for size in own)
        if excess <= (_NOTHING * nominal(value)) ** 2:
            return value
        size = math.sqrt(excess)
        scatter = UncertainInput(
            name, "", size, lambda measured, _: measured, shared=False, step=size, degrees_of_freedom=freedom,
            distribution="normal",
        )  # fmt: skip
        return linear(nominal(value), [(1.0, value), (1.0, self.variable(scatter))])

    def between(self, value: Correlated, name: Message, standard: float) -> Correlated:
        """A fitted value with what the spacing of its readings leaves open, a standard uncertainty of its own [as value].

        References
        ----------
        JCGM 100:2008, 4.3.7: anywhere between two bounds alike.
        """
        if value is None or not standard > 0.0:
            return value
        spacing = UncertainInput(name, "", standard, lambda measured, _: measured, shared=False, step=standard)
        return linear(nominal(value), [(1.0, value), (1.0, self.variable(spacing))])

    def uncertainty(self, value: Correlated) -> Uncertainty:
        """The uncertainty of a value."""
        return uncertainty_of(value, self.known)


def gravity(errors: Errors) -> Correlated:
    """Local gravity's error [m/s^2], about zero; ``None`` where gravity is exact or not used."""
    return errors.shared.get(LOCAL_GRAVITY)


def with_table(measured: Measured, table: Table) -> Measured:
    """The same test with a table in place of the load test, so that errors of columns move it."""
    return replace(measured, readings=replace(measured.readings, load_test=table, others={}))


def sensitivities(
    measured: Measured, of: Of, inputs: Sequence[UncertainInput], *, at_once: bool = True
) -> list[dict[str, Array]]:
    """By how much each quantity of each row moves with each error: n values by name, for every input.

    ``at_once`` says that ``of`` can be asked for many moved tests at a time, as :data:`Perturbation` makes them.

    References
    ----------
    JCGM 100:2008, 5.1.3 note 2: sensitivities by moving an input up and down by its standard uncertainty.
    """
    together = [one for one in inputs if at_once and not one.alone]
    found = dict(zip(together, _moved_together(measured, of, together), strict=True))
    return [found[one] if one in found else _moved_alone(measured, of, one) for one in inputs]


def _moved_alone(measured: Measured, of: Of, one: UncertainInput) -> dict[str, Array]:
    up, down = of(one.perturb(measured, one.size)), of(one.perturb(measured, -one.size))
    return {name: (up[name] - down[name]) / (2.0 * one.size) for name in up}


def _moved_together(measured: Measured, of: Of, inputs: Sequence[UncertainInput]) -> list[dict[str, Array]]:
    """As :func:`_moved_alone`, for the test with each input moved up, then with each moved down, all at a time."""
    if not inputs:
        return []
    count, rows = len(inputs), measured.readings.load_test.rows
    moved = measured
    for index, one in enumerate(inputs):
        error = np.zeros((2 * count, 1))
        error[index], error[count + index] = one.size, -one.size
        moved = one.perturb(moved, error)
    stacks = {name: np.broadcast_to(values, (2 * count, rows)) for name, values in of(moved).items()}
    sizes = np.array([[2.0 * one.size] for one in inputs])
    slopes = {name: (stack[:count] - stack[count:]) / sizes for name, stack in stacks.items()}
    return [{name: values[index] for name, values in slopes.items()} for index in range(count)]


def parts_of(value: Correlated, known: Mapping[Any, UncertainInput]) -> dict[str, tuple[UncertainInput, float]]:
    """Contribution of each input, by its identifier: the errors of its rows together."""
    squares: dict[str, float] = {}
    inputs: dict[str, UncertainInput] = {}
    differing = set()
    for error, slope in derivatives(value).items():
        one, size = known[error], slope * error.size
        name = one.identifier
        before = squares.get(name)
        if before is None:
            squares[name], inputs[name] = size * size, one
            continue
        squares[name] = before + size * size
        if inputs[name] is not one and inputs[name].degrees_of_freedom != one.degrees_of_freedom:
            differing.add(name)
    for name in differing:
        inputs[name] = replace(inputs[name], degrees_of_freedom=_freedom_together(value, known, name))
    least = (_NOTHING * max(abs(nominal(value)), 1e-12)) ** 2
    return {name: (inputs[name], math.sqrt(square)) for name, square in squares.items() if square > least}


def _freedom_together(value: Correlated, known: Mapping[Any, UncertainInput], name: str) -> float:
    """Degrees of freedom of the errors of an input's rows together, where those of the rows differ."""
    rows = [
        (slope * one.size, known[one]) for one, slope in derivatives(value).items() if known[one].identifier == name
    ]
    return effective_degrees_of_freedom([size for size, _ in rows], [one.degrees_of_freedom for _, one in rows])


#: What was assumed and makes less than this part of a variance, all of it together, is not named. [1] Common practice,
#: no source: it alters an interval by half as much.
_MATTERS = 0.02


def uncertainty_of(value: Correlated, known: Mapping[Any, UncertainInput]) -> Uncertainty:
    """The uncertainty of a value, from its dependence on every error.

    Parameters
    ----------
    value : Correlated
        The value with its dependence on the errors. [any]
    known : mapping
        Which input each error is of.

    Returns
    -------
    Uncertainty
        In the unit of the value; without numbers where an input has none.

    Notes
    -----
    What is stated is expanded together, by its effective degrees of freedom; each part that was assumed is expanded by
    its own and added by its square. So an assumed part that becomes a smaller stated one never widens the interval, as
    it could where the others have few degrees of freedom: it would then leave them a greater share of the formula of
    Welch and Satterthwaite (for fewer than eight of theirs, to within the rounding down of G.4.1).

    References
    ----------
    JCGM 100:2008, 5.1.2, G.4.1 (equation G.2b) and G.6.4; each assumed part by itself is common practice, no source.
    """
    parts = parts_of(value, known).values()
    missing = tuple(dict.fromkeys(one.to_state for one, _ in parts if not one.known and one.to_state is not None))
    if missing or not all(one.known for one, _ in parts):
        return Uncertainty(None, None, None, None, missing)
    sizes = [size for _, size in parts]
    standard = math.hypot(*sizes)
    if standard == 0.0:
        return Uncertainty(None, None, None, None)
    freedom = _freedom(sizes, [one.degrees_of_freedom for one, _ in parts])
    if not any(one.assumed for one, _ in parts):
        half_width, factor = expanded(standard, freedom)
        return Uncertainty(standard, freedom, factor, half_width)
    half_width = math.hypot(_stated([(one, size) for one, size in parts if not one.assumed]), *_assumed(parts))
    return Uncertainty(standard, freedom, half_width / standard, half_width, assumed=_that_matter(parts, standard))


def _freedom(sizes: Sequence[float], freedoms: Sequence[float]) -> float:
    return math.inf if min(freedoms) == math.inf else effective_degrees_of_freedom(sizes, freedoms)


def _stated(parts: Sequence[tuple[UncertainInput, float]]) -> float:
    """Expanded uncertainty of what is stated."""
    sizes = [size for _, size in parts]
    standard = math.hypot(*sizes)
    return (
        0.0 if standard == 0.0 else expanded(standard, _freedom(sizes, [one.degrees_of_freedom for one, _ in parts]))[0]
    )


def _assumed(parts: Iterable[tuple[UncertainInput, float]]) -> list[float]:
    """Expanded uncertainty of each part that was assumed."""
    return [size * coverage_factor(one.degrees_of_freedom) for one, size in parts if one.assumed]


def _that_matter(parts: Iterable[tuple[UncertainInput, float]], standard: float) -> tuple[Message, ...]:
    """What was assumed, the largest part first, without the smallest that together hardly count."""
    shares: dict[str, float] = {}
    messages: dict[str, Message] = {}
    for one, size in parts:
        if one.assumption is not None:
            shares[one.assumed_as] = shares.get(one.assumed_as, 0.0) + (size / standard) ** 2
            messages[one.assumed_as] = one.assumption
    left = sum(shares.values())
    named = []
    for text in sorted(shares, key=lambda text: -shares[text]):
        if left <= _MATTERS:
            break
        named.append(messages[text])
        left -= shares[text]
    return tuple(named)
