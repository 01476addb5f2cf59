"""Rows of a load test that are readings of one load: how uncertain rows are against each other, and how repeats scatter.

An error that all rows share (an arm's length, a meter's gain) moves the whole load curve; what bends it is what differs
from row to row.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from certgen.job.columns import si_unit
from certgen.messages.catalogue import Message
from certgen.physics.curves import distinct
from certgen.physics.domain import Array, Index
from certgen.readings.model import Table
from certgen.reduction.load_curve import CLEAR_DROP, SAME_LOAD, same_load
from certgen.reduction.model import LoadPoints
from certgen.reduction.uncertainty.model import Measured, UncertainInput, perturb_rows
from certgen.reduction.uncertainty.propagation import RowErrors

#: Quantities by which a load differs from another, besides torque.
_KNOWN_BY = ("speed", "current", "input_power")
#: Loads further apart than this part of the greatest are two, however coarse speed and current were read. [1] Common
#: practice, no source.
_CLEARLY_APART = 0.01
#: Columns that are set, or that rise while a load is held: their change from row to row is no scatter.
_CHANGING = frozenset(
    {"time", "brake_current", "winding_temperature", "frame_temperature", "ambient_temperature", "winding_resistance"}
)
_OF_POWER = frozenset({"input_power", "wattmeter_1", "wattmeter_2"})
_WORDS = {"scale_2": "slack-side balance"}
#: Scatter below this part of the readings is rounding of binary numbers.
_NONE = 1e-9


def originals(table: Table, rows: Index) -> Index:
    """The rows without those that repeat an earlier one of them in every column to the last digit, the time included."""
    if not table.columns:
        return rows
    columns = np.array([*table.columns.values()])
    found: dict[bytes, int] = {}
    for row in rows.tolist():
        found.setdefault(columns[:, row].tobytes(), row)
    return np.array([*found.values()], dtype=np.intp)


def torque_scatter(of_rows: RowErrors, rows: Index) -> Array:
    """How uncertain the torque of each row is against other rows, also as far as its other readings tell the load.

    Parameters
    ----------
    of_rows : RowErrors
        The load points with their errors, n rows. [SI]
    rows : array of int
        Those that the load curve may rest on.

    Returns
    -------
    array, shape (n,)
        The largest standard uncertainty of torque, and of speed, current and input power over their rise with torque
        from the lightest to the heaviest row. The latter count up to 1 % of the greatest torque between two rows. [N*m]

    References
    ----------
    JCGM 100:2008 (GUM), 5.2 (errors that rows share are no part of their difference).
    """
    points = of_rows.tested
    own = of_rows.between_rows("torque")
    usable = rows[np.isfinite(points.torque[rows]) & ~points.impossible[rows]]
    if usable.size == 0:
        return own
    lightest, heaviest = usable[[np.argmin(points.torque[usable]), np.argmax(points.torque[usable])]]
    span = points.torque[heaviest] - points.torque[lightest]
    seen = np.zeros(points.count)
    for name in _KNOWN_BY:
        values = getattr(points, name)
        rise = abs(values[heaviest] - values[lightest])
        if span > 0.0 and rise > 0.0:
            seen = np.maximum(seen, of_rows.between_rows(name) * span / rise)
    limit = _CLEARLY_APART * abs(points.torque[heaviest]) / (SAME_LOAD * math.sqrt(2.0))
    return np.asarray(np.maximum(own, np.minimum(seen, limit)))


def repeated_rows(points: LoadPoints, scatter: Array, rows: Index) -> tuple[Index, ...]:
    """Runs of rows, taken one after the other, that are readings of one load.

    Parameters
    ----------
    points : LoadPoints
        The load points, n rows. [SI]
    scatter : array, shape (n,)
        Standard uncertainty of each torque against those of other rows. [N*m]
    rows : array of int
        Those meant, none of them a copy.

    Returns
    -------
    tuple of array of int
        Two rows or more each. Speed and voltage differ by no more than 5 %: the same torque past breakdown, or on
        another supply, is another state of the motor.
    """
    groups: list[list[int]] = []
    for row in rows[np.isfinite(points.torque[rows])].tolist():
        if groups and _again(points, scatter, groups[-1][0], row) and row == groups[-1][-1] + 1:
            groups[-1].append(row)
        else:
            groups.append([row])
    return tuple(np.array(group) for group in groups if len(group) > 1)


def _again(points: LoadPoints, scatter: Array, first: int, row: int) -> bool:
    torque = points.torque
    if not same_load(float(torque[first]), float(torque[row]), float(scatter[first]), float(scatter[row])):
        return False
    pairs = ((values[first], values[row]) for values in (points.speed, points.voltage))
    return not any(abs(one - other) > CLEAR_DROP * abs(one) for one, other in pairs)


def repeat_scatter(readings: Array, groups: Sequence[Index]) -> tuple[float, float] | None:
    """Standard deviation of a reading from rows taken one after the other at the same load.

    Parameters
    ----------
    readings : array, shape (n,)
        What was read. [any]
    groups : sequence of array of int
        The rows of each load read more than once, in the order they were read.

    Returns
    -------
    tuple of (float, float), or None
        Standard deviation [as readings] and its degrees of freedom; ``None`` where no load was read twice
        running, or all repeats agree to the last digit.

    References
    ----------
    J. von Neumann, R. H. Kent, H. R. Bellinson and B. I. Hart, Ann. Math. Statist. 12 (1941) 153 (from memory): half
    the mean square successive difference, which a slow change of the load does not enter; its variance gives
    2 (m - 1)^2 / (3 m - 4) degrees of freedom for m readings. JCGM 100:2008 (GUM), 4.2 (type A evaluation).
    """
    squares, pairs, spread = 0.0, 0, 0
    for group in groups:
        read = readings[group]
        differences = np.diff(read[np.isfinite(read)])
        if differences.size:
            squares += float(differences @ differences)
            pairs += differences.size
            spread += 3 * differences.size - 1
    if squares == 0.0:
        return None
    return math.sqrt(squares / (2.0 * pairs)), 2.0 * pairs**2 / spread


def repeat_inputs(of_rows: RowErrors, groups: Sequence[Index]) -> Iterator[UncertainInput]:
    """What repeats show each column to scatter by, beyond what its instrument and its means explain already.

    Parameters
    ----------
    of_rows : RowErrors
        The load points with their errors, before repeats are looked at. [SI]
    groups : sequence of array of int
        The rows of each load read more than once.

    Yields
    ------
    UncertainInput
        One for each column that scatters more than that.

    References
    ----------
    JCGM 100:2008 (GUM), 4.2 (type A) and 4.3.10: no component is counted twice.
    """
    measured, points = of_rows.measured, of_rows.tested
    repeated = np.concatenate([np.empty(0, dtype=int), *groups])
    for name, values in measured.readings.load_test.columns.items() if groups else ():
        if name in _CHANGING:
            continue
        load = points.torque if name in _OF_POWER else points.input_power
        estimates = [repeat_scatter(one, groups) for one in (values, _at_one_load(values, load))]
        known = [one for one in estimates if one is not None]
        if len(known) < len(estimates):
            continue
        standard, freedom = min(known)
        explained = _explained(measured, of_rows.inputs, name)[repeated]
        excess = standard**2 - float(np.nanmean(explained))
        if excess <= (_NONE * float(np.nanmax(np.abs(values)))) ** 2:
            continue
        yield _repeatability(measured, name, math.sqrt(excess), freedom)


def _repeatability(measured: Measured, name: str, size: float, freedom: float) -> UncertainInput:
    scale = measured.rig.scale
    return UncertainInput(
        Message("input.repeatability", column=_WORDS.get(name, name.replace("_", " "))),
        si_unit(name, scale_reads=scale.reads if scale is not None else "mass"),
        size,
        perturb_rows(name),
        shared=False,
        step=size,
        degrees_of_freedom=freedom,
        distribution="normal",
        columns=frozenset({name}),
    )


def _at_one_load(values: Array, load: Array) -> Array:
    """Readings less their rise with the load, by a parabola over it: a brake that drifts is no scatter of a reading."""
    known = np.isfinite(values) & np.isfinite(load)
    different = distinct(load[known]).size
    if different < 3:
        return values
    middle, span = float(load[known].mean()), float(np.ptp(load[known]))
    place = (load - middle) / span
    found = np.polynomial.polynomial.polyfit(place[known], values[known], 2 if different > 3 else 1)
    return np.where(known, values - np.polynomial.polynomial.polyval(place, found), values)


def _explained(measured: Measured, inputs: Sequence[UncertainInput], name: str) -> Array:
    """Variance of each single reading of a column by the inputs that err from row to row, shape (n,)."""
    values = measured.readings.load_test.columns[name]
    total = np.zeros(values.shape)
    for one in inputs:
        if not one.shared and one.known:
            total += (one.perturb(measured, one.size).readings.load_test.column(name) - values) ** 2
    return total
