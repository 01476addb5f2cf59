"""Measured values with an error added: to columns of the tables, to the zero readings, to the rig."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from certgen.readings.model import Readings, Table, Zero
from certgen.reduction.uncertainty.model import Measured, Shift

Array = NDArray[np.float64]
#: A supply has some frequency: however poor a meter, its reading is not moved below this part of itself.
_LEAST_FREQUENCY = 0.1

#: Readings of a column and an error of one input: what the column would have shown.
Moved = Callable[[Array, "float | Array"], Array]


def added(values: Array, error: float | Array) -> Array:
    """Readings with the same error, or one error a row, added."""
    return values + error


def shift_columns(names: tuple[str, ...], moved: Moved = added) -> Shift:
    """An error of one instrument that is the same wherever it was read: the columns of all tables move."""

    def shift(measured: Measured, error: float | Array) -> Measured:
        readings = measured.readings
        others = {name: _moved(table, names, moved, error) for name, table in readings.others.items()}
        load_test = _moved(readings.load_test, names, moved, error)
        return replace(measured, readings=replace(readings, load_test=load_test, others=others))

    return shift


def shift_rows(name: str, moved: Moved = added) -> Shift:
    """An error of each single reading of a column: the rows of the load test move."""

    def shift(measured: Measured, error: float | Array) -> Measured:
        load_test = _moved(measured.readings.load_test, (name,), moved, error)
        return replace(measured, readings=replace(measured.readings, load_test=load_test))

    return shift


def with_column(measured: Measured, name: str, values: Array) -> Measured:
    """Measured values whose load test has a column more."""
    table = measured.readings.load_test
    load_test = replace(table, columns={**table.columns, name: values})
    return replace(measured, readings=replace(measured.readings, load_test=load_test))


def shift_zero(which: str, ends: tuple[str, ...]) -> Shift:
    """An error of readings without load: ``which`` is 'zero' or 'zero_2', ``ends`` of 'before' and 'after'."""

    def shift(measured: Measured, error: float | Array) -> Measured:
        zero: Zero = getattr(measured.readings, which)
        changes: dict[str, Any] = {end: getattr(zero, end) + error for end in ends if getattr(zero, end) is not None}
        moved: Mapping[str, Any] = {which: replace(zero, **changes)}
        return replace(measured, readings=_readings(measured.readings, moved))

    return shift


def _readings(readings: Readings, changes: Mapping[str, Any]) -> Readings:
    return replace(readings, **changes)


def shift_rig(*path: str) -> Shift:
    """An error of a number of the rig, named by the keys that lead to it."""

    def shift(measured: Measured, error: float | Array) -> Measured:
        return replace(measured, rig=_moved_at(measured.rig, path, error))

    return shift


def _moved_at(of: Any, path: tuple[str, ...], error: float | Array) -> Any:
    inner = getattr(of, path[0])
    return replace(of, **{path[0]: inner + error if len(path) == 1 else _moved_at(inner, path[1:], error)})


def _moved(table: Table, names: tuple[str, ...], moved: Moved, error: float | Array) -> Table:
    columns = {name: moved(values, error) if name in names else values for name, values in table.columns.items()}
    if "frequency" in names and "frequency" in columns:
        columns["frequency"] = np.maximum(columns["frequency"], _LEAST_FREQUENCY * table.columns["frequency"])
    return replace(table, columns=columns)
