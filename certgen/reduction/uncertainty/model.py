"""What an uncertain input is, and what propagation hands on."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from certgen.document.build import Toleranced
from certgen.job.rig import Rig
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array
from certgen.physics.uncertainty import half_width_to_standard
from certgen.readings.model import Readings, Table, Zero


@dataclass(frozen=True, eq=False)
class Measured:
    """Everything the chain from readings to load points starts from. [SI]"""

    rig: Rig
    readings: Readings
    local_gravity: float | None


#: Name of the input that is local gravity.
LOCAL_GRAVITY = Message("input.local_gravity")

#: Measured values with an error of one input added: a number for every row alike, one for each row, shape (n,), or
#: many tests at a time, shape (k, 1); what was read or stated then becomes an array of shape (k, n) or (k, 1).
Perturbation = Callable[[Measured, "float | Array"], Measured]


@dataclass(frozen=True, eq=False)
class LimitOfReading:
    """An instrument's limit of error at a reading, for a budget that names it in the unit of the instrument.

    ``quantity`` is what it reads of a load point, ``full_scale`` the range it was on, where that is stated. [unit]
    """

    quantity: str
    unit: str
    limit: Callable[[float], float]
    full_scale: float | None = None


@dataclass(frozen=True, eq=False)
class UncertainInput:
    """One source of uncertainty of the readings.

    ``standard_uncertainty`` is in ``unit`` ("1" for a relative error such as a meter's part of reading). Where the
    files do not state it, it is that of an ordinary one of its kind and ``assumption`` says what was assumed and what
    to state to do better; ``nan`` where no value could be given, and ``to_state`` says what would give one. ``step``
    is an error of ordinary size, used to see how results move where there is no value. ``shared`` errors are the same
    in all rows (an arm's length, a meter's gain) and stay correlated; others are independent from row to row
    (resolution, one pulse).
    """

    name: Message
    unit: str
    standard_uncertainty: float
    perturb: Perturbation
    shared: bool
    step: float
    estimate: float | None = None
    degrees_of_freedom: float = math.inf
    distribution: str = "rectangular"
    to_state: Message | None = None
    assumption: Message | None = None
    columns: frozenset[str] = frozenset()
    alone: bool = False  # moves what is fitted once a test, so that one test is moved at a time
    row_freedom: Array | None = None  # of each row by itself, where rows differ; shape (n,)
    of_reading: LimitOfReading | None = None  # where the error is a part of an instrument's limit

    @cached_property
    def identifier(self) -> str:
        """What it is known by among other inputs: its name in English."""
        return str(self.name)

    @cached_property
    def assumed_as(self) -> str:
        """What its assumption is known by among others, in English; empty where it is none."""
        return "" if self.assumption is None else str(self.assumption)

    @property
    def size(self) -> float:
        """The error it is moved by: its standard uncertainty, or its step where that is not known or nothing."""
        return self.standard_uncertainty if self.known and self.standard_uncertainty > 0.0 else self.step

    def of_row(self, row: int) -> UncertainInput:
        """The same with the degrees of freedom of one row."""
        if self.row_freedom is None:
            return self
        return replace(self, degrees_of_freedom=float(self.row_freedom[row]), row_freedom=None)

    @property
    def known(self) -> bool:
        """Whether its size is known, stated or assumed."""
        return math.isfinite(self.standard_uncertainty)

    @property
    def assumed(self) -> bool:
        """Whether its size is that of an ordinary one of its kind, as nobody stated it."""
        return self.assumption is not None


@dataclass(frozen=True)
class Contribution:
    """One line of an uncertainty budget; sensitivity and contribution in the unit of the result."""

    name: Message
    unit: str
    estimate: float | None
    standard_uncertainty: float
    degrees_of_freedom: float
    distribution: str
    sensitivity: float
    contribution: float
    share: float  # of the variance
    assumed: bool = False  # nobody stated it
    of_reading: LimitOfReading | None = None  # where the error is a part of an instrument's limit


@dataclass(frozen=True)
class Uncertainty:
    """The uncertainty of one figure: standard and expanded, in the unit of the figure.

    Both are ``None`` where nothing could be said of something that matters to it; ``missing_inputs`` says what to
    state. ``assumed`` names what was taken as ordinary of its kind and matters, the largest part first.
    """

    standard: float | None
    degrees_of_freedom: float | None
    coverage_factor: float | None
    expanded: float | None
    missing_inputs: tuple[Message, ...] = ()
    assumed: tuple[Message, ...] = ()


@dataclass(frozen=True, eq=False)
class Uncertainties:
    """The uncertainty of every figure: ``points`` one mapping a row, ``operating`` by the name of the operating point.

    ``budgets`` holds, for each operating point and quantity, the lines of its budget, the largest share first.
    ``missing_inputs`` says what to state where nothing could be assumed.
    """

    points: tuple[Mapping[str, Uncertainty], ...]
    operating: Mapping[str, Mapping[str, Uncertainty]]
    budgets: Mapping[str, Mapping[str, tuple[Contribution, ...]]]
    missing_inputs: tuple[Message, ...]
    assumed_inputs: Callable[[], tuple[UncertainInput, ...]] = tuple
    inputs: tuple[UncertainInput, ...] = ()
    correlated: Any = None  # the propagation library's own values, for figures made from several of these
    errors: Any = None  # :class:`Errors`, by which other figures of the test get theirs

    @property
    def assumed(self) -> tuple[UncertainInput, ...]:
        """The inputs that were assumed and matter to a point, or to a figure of another table."""
        return self.assumed_inputs()


# Uncertain inputs from what a rig states: a limit of error, an expanded uncertainty, or nothing.


#: Part of a value by which it is moved to see what depends on it, where nothing is known of its error.
_ORDINARY = 1e-3


def ordinary_step(size: float) -> float:
    """An error of ordinary size for a value of this size; 1e-3 where the value is zero. [as the value]"""
    return _ORDINARY * abs(size) or _ORDINARY


def within(
    name: Message, unit: str, limit: float, perturb: Perturbation, *, shared: bool, estimate: float | None = None
) -> UncertainInput:
    """An error that lies within a limit either side, nowhere more likely than elsewhere.

    References
    ----------
    JCGM 100:2008 (GUM), 4.3.7: a / sqrt(3).
    """
    standard = float(half_width_to_standard(limit, "rectangular"))
    return UncertainInput(name, unit, standard, perturb, shared=shared, step=standard, estimate=estimate)


def unknown(
    name: Message, unit: str, perturb: Perturbation, *, size: float, to_state: Message, shared: bool = True
) -> UncertainInput:
    """An error of which nothing can be said; ``to_state`` is what would say it, ``size`` the value's own."""
    return UncertainInput(name, unit, math.nan, perturb, shared=shared, step=ordinary_step(size), to_state=to_state)


def toleranced(name: Message, unit: str, value: Toleranced, perturb: Perturbation) -> UncertainInput | None:
    """The error of a value written with its tolerance or expanded uncertainty; ``None`` where it has neither.

    References
    ----------
    JCGM 100:2008 (GUM), 4.3.7 (tolerance), 4.3.3 (expanded uncertainty with k = 2).
    """
    if value.tolerance is not None:
        return within(name, unit, value.tolerance, perturb, shared=True, estimate=value.value)
    if value.expanded_uncertainty is not None:
        standard = float(half_width_to_standard(value.expanded_uncertainty, "normal"))
        return UncertainInput(
            name, unit, standard, perturb, shared=True, step=standard, estimate=value.value, distribution="normal"
        )
    return None


# Measured values with an error added: to columns of the tables, to the zero readings, to the rig.


#: A supply has some frequency: however poor a meter, its reading is not moved below this part of itself.
_LEAST_FREQUENCY = 0.1

#: Readings of a column and an error of one input: what the column would have shown.
Moved = Callable[[Array, "float | Array"], Array]


def added(values: Array, error: float | Array) -> Array:
    """Readings with the same error, or one error a row, added."""
    return values + error


def perturb_columns(names: tuple[str, ...], moved: Moved = added) -> Perturbation:
    """An error of one instrument that is the same wherever it was read: the columns of all tables move."""

    def perturb(measured: Measured, error: float | Array) -> Measured:
        readings = measured.readings
        others = {name: _moved(table, names, moved, error) for name, table in readings.others.items()}
        load_test = _moved(readings.load_test, names, moved, error)
        return replace(measured, readings=replace(readings, load_test=load_test, others=others))

    return perturb


def perturb_rows(name: str, moved: Moved = added) -> Perturbation:
    """An error of each single reading of a column: the rows of the load test move."""

    def perturb(measured: Measured, error: float | Array) -> Measured:
        load_test = _moved(measured.readings.load_test, (name,), moved, error)
        return replace(measured, readings=replace(measured.readings, load_test=load_test))

    return perturb


def with_column(measured: Measured, name: str, values: Array) -> Measured:
    """Measured values whose load test has a column more."""
    table = measured.readings.load_test
    load_test = replace(table, columns={**table.columns, name: values})
    return replace(measured, readings=replace(measured.readings, load_test=load_test))


def perturb_zero(which: str, ends: tuple[str, ...]) -> Perturbation:
    """An error of readings without load: ``which`` is 'zero' or 'zero_2', ``ends`` of 'before' and 'after'."""

    def perturb(measured: Measured, error: float | Array) -> Measured:
        zero: Zero = getattr(measured.readings, which)
        changes: dict[str, Any] = {end: getattr(zero, end) + error for end in ends if getattr(zero, end) is not None}
        moved: Mapping[str, Any] = {which: replace(zero, **changes)}
        return replace(measured, readings=_readings(measured.readings, moved))

    return perturb


def _readings(readings: Readings, changes: Mapping[str, Any]) -> Readings:
    return replace(readings, **changes)


def perturb_rig(*path: str) -> Perturbation:
    """An error of a number of the rig, named by the keys that lead to it."""

    def perturb(measured: Measured, error: float | Array) -> Measured:
        return replace(measured, rig=_moved_at(measured.rig, path, error))

    return perturb


def _moved_at(of: Any, path: tuple[str, ...], error: float | Array) -> Any:
    inner = getattr(of, path[0])
    return replace(of, **{path[0]: inner + error if len(path) == 1 else _moved_at(inner, path[1:], error)})


def _moved(table: Table, names: tuple[str, ...], moved: Moved, error: float | Array) -> Table:
    columns = {name: moved(values, error) if name in names else values for name, values in table.columns.items()}
    if "frequency" in names and "frequency" in columns:
        columns["frequency"] = np.maximum(columns["frequency"], _LEAST_FREQUENCY * table.columns["frequency"])
    return replace(table, columns=columns)
