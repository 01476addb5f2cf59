"""Readings at the end of what their instrument shows: the true value may have been greater, so they state no figure."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from certgen.job.rig import ROPE, TORQUE_SENSOR, Rig
from certgen.physics.domain import Array, Mask
from certgen.readings.model import Table

#: Columns that show the load, by kind of absorber; all others show it on one scale.
_LOAD = {TORQUE_SENSOR: ("torque",), ROPE: ("scale", "scale_2")}
#: Columns of electrical meters, by the statement in the rig that holds for them.
_OF_METERS = {
    "voltage": ("voltage", "voltage_ab", "voltage_bc", "voltage_ca"),
    "current": ("current", "current_a", "current_b", "current_c"),
    "input_power": ("input_power", "wattmeter_1", "wattmeter_2"),
}
#: The statement that holds for a column.
METER_OF = {name: meter for meter, names in _OF_METERS.items() for name in names}
#: Indications and spans are compared as decimal numbers, whatever their binary form.
_ROUNDING = 1e-9


def load_columns(rig: Rig) -> tuple[str, ...]:
    """Names of the columns that the load is made of."""
    return _LOAD.get(rig.absorber.kind, ("scale",))


def spans_of(rig: Rig) -> tuple[float | None, ...]:
    """Greatest indication of each column of the load, where the rig states it. [SI, as the column]"""
    if rig.absorber.kind == TORQUE_SENSOR:
        meter = rig.meters.torque if rig.meters is not None else None
        return (None if meter is None else meter.full_scale,)
    span = None if rig.limits.scale is None else rig.limits.scale.value
    return (span,) * len(load_columns(rig))


def load_at_span(table: Table, rig: Rig) -> Mask:
    """Rows in which scale or torque sensor stood at the end of its span: shape (n,).

    Parameters
    ----------
    table : Table
        A load test, n rows. [SI]
    rig : Rig
        Says how much scale or sensor can show. [SI]
    """
    at_span = np.zeros(table.rows, dtype=bool)
    for name, span in zip(load_columns(rig), spans_of(rig), strict=True):
        if span is not None and name in table.columns:
            at_span |= table.columns[name] >= span * (1.0 - _ROUNDING)
    return at_span


def without_overloads(table: Table, rig: Rig) -> tuple[Table, Mask | None]:
    """A log in which no load is infinite, and the rows in which an instrument said that it was overloaded.

    Parameters
    ----------
    table : Table
        A log, n rows; an overload was read as infinity. [SI]
    rig : Rig
        Says which columns show the load.

    Returns
    -------
    tuple of (Table, array or None)
        An overload stands on the line between the readings beside it, and in the mask, shape (n,); ``None`` for none.
    """
    over: Mask | None = None
    columns = dict(table.columns)
    for name in load_columns(rig):
        values = columns.get(name)
        if values is None or not np.isposinf(np.fmax.reduce(values, initial=0.0)):
            continue
        beyond = np.isposinf(values)
        rows, shown = np.flatnonzero(beyond), np.flatnonzero(np.isfinite(values))
        columns[name] = values.copy()
        columns[name][rows] = np.interp(rows, shown, values[shown]) if shown.size else math.nan
        over = beyond if over is None else over | beyond
    return (table, None) if over is None else (replace(table, columns=columns), over)


def meters_at_full_scale(columns: Mapping[str, Array], rig: Rig) -> dict[str, Mask]:
    """Readings of electrical meters that stand at full scale, by column, each of shape (n,); columns without are left out.

    Parameters
    ----------
    columns : mapping of str to array
        Of a table with n rows. [SI]
    rig : Rig
        Its meters with their full scales. [SI]

    Notes
    -----
    A meter that showed more than its full scale in any row does not end there.
    """
    found: dict[str, Mask] = {}
    for meter, names in _OF_METERS.items():
        full_scale = getattr(getattr(rig.meters, meter, None), "full_scale", None)
        if full_scale is None:
            continue
        for name in names:
            values = columns.get(name)
            if values is None or not values.size:
                continue
            greatest = float(np.nanmax(values, initial=-math.inf))
            if abs(greatest - full_scale) <= _ROUNDING * full_scale:
                found[name] = np.asarray(values >= full_scale * (1.0 - _ROUNDING))
    return found
