"""Is a row of the load test off the curve through the other rows, which cell, and which slip explains it.

A motor under test has one freedom, its load, so that all readings lie on one smooth curve. The curve is fitted to the
other rows (``smooth_curve``); the row is off it where its distance, in units of its own uncertainty between rows, the
curve's, and what the curve may bend, is more than chance gives. The rates of detection and of false alarms are
measured by ``tests/studies/rows_off_curve.py``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from certgen.assessment.plausibility.evidence import LOAD_TEST, RowOffCurve
from certgen.assessment.plausibility.past_breakdown import rows_past_breakdown
from certgen.assessment.plausibility.row_relations import LoadRows, RowSpace, quantities_of, space_of
from certgen.assessment.plausibility.rows_on_curve import FEWEST, UNUSUAL_VOLTAGE, RowsOnCurve
from certgen.assessment.plausibility.wrong_cell import EXPLAINED, ONE_CELL, VOLTAGE_NAMED, WrongCell
from certgen.physics.domain import Array, Mask

#: Chi-square distance over the others' scatter beyond which a row is off the curve. Learned on simulated tests.
OFF = 27.0
#: With three rows nothing shows which is off, and the least of the three distances counts for more.
OF_THREE = 2.2
#: Natural logarithm of a ratio of voltages that no load test spans.
VOLTAGE_BEYOND = 0.25
#: How near the other rows' voltage a figure must come that is to be the one meant. [1]
NEAR_USUAL = 0.015


def rows_off_curve(rows: LoadRows) -> tuple[RowOffCurve, ...]:
    """Rows of a load test that lie off the curve through the others, the worst first; at most two.

    Parameters
    ----------
    rows : LoadRows
        The test, n rows in any order; NaN where a cell is empty.

    Returns
    -------
    tuple of RowOffCurve
        Empty where every row fits, where fewer than three rows are complete, or where the loads hardly differ.
    """
    with np.errstate(all="ignore"):
        first = _worst_row(rows, np.ones(len(np.atleast_1d(rows.speed)), dtype=bool))
        if first is None:
            return ()
        count = len(rows.speed)
        if first.row is None or count < FEWEST + 3:
            return (first,)
        others = np.arange(count) != first.row
        second = _worst_row(rows, others)
        return (first,) if second is None or second.row is None else (first, second)


def _worst_row(rows: LoadRows, allowed: Mask) -> RowOffCurve | None:
    read = quantities_of(rows)
    space = space_of(rows, read)
    if space is None:
        return None
    read = {name: read[name] for name in space.quantities}
    whole = allowed & np.all([np.isfinite(values) & (np.abs(values) < 1e12) for values in read.values()], axis=0)
    if whole.sum() < FEWEST:
        return None
    by_sign = _lone_sign(rows, whole)
    if by_sign is not None:
        return by_sign
    if "voltage" in space.quantities:
        by_voltage = _lone_voltage(rows, space, read, whole)
        if by_voltage is not None:
            return by_voltage
    past = rows_past_breakdown(rows, read, whole)
    steep = whole & ~past
    if steep.sum() < FEWEST + past.any():
        return None
    judged = RowsOnCurve.of(space, read, np.flatnonzero(steep))
    return None if judged is None else _off_curve(judged, rows)


def _off_curve(judged: RowsOnCurve, rows: LoadRows) -> RowOffCurve | None:
    misfit = np.where(np.isfinite(judged.curves.misfit), judged.curves.misfit, np.inf)
    if len(judged.at) == FEWEST:
        return _of_three(judged, rows)
    which = int(np.argmin(misfit))
    distance = judged.distance(which)
    if not distance > OFF:
        return None
    row = int(judged.at[judged.tried[which]])
    return WrongCell(judged, which, row, rows).named(distance)


def _of_three(judged: RowsOnCurve, rows: LoadRows) -> RowOffCurve | None:
    distances = [judged.distance(which) for which in range(len(judged.tried))]
    if len(distances) < FEWEST or not OF_THREE * min(distances) > OFF:
        return None
    found = [
        WrongCell(judged, which, int(judged.at[judged.tried[which]]), rows).named(distances[which])
        for which in range(3)
    ]
    explained = [each for each in found if each.slip is not None] or found
    candidates = tuple(sorted(each.row for each in explained if each.row is not None))
    least = OF_THREE * min(distances)
    if len(explained) == 1 and explained[0].slip not in (None, "one_digit"):
        return replace(explained[0], row=None, candidate_rows=candidates, distance=least, cell_is_clear=False)
    return RowOffCurve(LOAD_TEST, None, candidates, least, None, None, False, None, None, None, None)


def _lone_sign(rows: LoadRows, whole: Mask) -> RowOffCurve | None:
    """A typed figure whose sign is unlike all others; not a net torque, which may lie below zero by the tare.

    The lighter of two wattmeters turns negative below a power factor of one half and is left to the curve.
    """
    for column in rows.columns:
        wattmeters = [each for each in rows.columns if each.quantity == "input_power"]
        values = np.asarray(column.values, dtype=float)
        chosen = np.flatnonzero(whole & np.isfinite(values) & (values != 0.0))
        if len(chosen) < FEWEST or (column.quantity == "input_power" and len(wattmeters) > 1):
            continue
        signs = np.sign(values[chosen])
        odd = chosen[signs != np.sign(signs.sum())]
        if len(odd) != 1 or abs(values[odd[0]]) < 0.08 * np.max(np.abs(values[chosen])):
            continue
        row, typed = int(odd[0]), float(values[odd[0]])
        return RowOffCurve(
            LOAD_TEST, row, (row,), np.inf, column.quantity, column.name, True,
            typed * column.to_si, -typed * column.to_si, -typed, "sign",
        )  # fmt: skip
    return None


def _lone_voltage(rows: LoadRows, space: RowSpace, read: Mapping[str, Array], whole: Mask) -> RowOffCurve | None:
    """One voltage apart from all others, which agree, where the rest of its row belongs to the others' voltage."""
    volts = read["voltage"]
    at = np.flatnonzero(whole)
    off = np.array([abs(volts[k] / np.median(volts[at[at != k]]) - 1.0) for k in at])
    others = float(np.sort(off)[-2])
    if not (off.max() > VOLTAGE_NAMED and others < 2.0 * UNUSUAL_VOLTAGE and others < 0.4 * off.max()):
        return None
    row = int(at[np.argmax(off)])
    usual = float(np.median(volts[at[at != row]]))
    if usual <= 0.0:
        return None
    steep = whole & ~rows_past_breakdown(rows, read, whole)
    steep[row] = True
    judged = RowsOnCurve.of(space, read, np.flatnonzero(steep))
    if judged is None or row not in judged.at[judged.tried]:
        return None
    which = int(np.flatnonzero(judged.at[judged.tried] == row)[0])
    distance = _distance_at_typed_voltage(judged, which, row, usual)
    cell = WrongCell(judged, which, row, rows)
    if distance > OFF:
        # A voltage that may be a true one is a cell like the others of its row.
        return _named_voltage(cell, usual, distance) if off.max() > UNUSUAL_VOLTAGE else None
    as_usual = judged.readings(row)
    as_usual["voltage"] = np.array([usual])
    better = float(judged.distances(which, as_usual)[0])
    if others < 0.25 * off.max() and better < EXPLAINED and better + ONE_CELL < distance:
        return _named_voltage(cell, usual, max(distance, OFF))
    return None


def _named_voltage(cell: WrongCell, usual: float, distance: float) -> RowOffCurve | None:
    """What the voltage of a row may have suffered; None where the row lies elsewhere whatever its voltage."""
    row = cell.row
    columns = cell.columns("voltage")
    as_usual = cell.judged.readings(row)
    as_usual["voltage"] = np.array([usual])
    volts = float(cell.judged.read["voltage"][row])
    if cell.judged.distances(cell.which, as_usual)[0] < EXPLAINED:
        found = cell.slip(columns)
        if found is not None and abs(found[2] * columns[0].to_si / usual - 1.0) > NEAR_USUAL and len(columns) == 1:
            found = None  # it explains the row, but not that the other voltages agree
        if found is not None and found[1] != "one_digit":
            return cell.result(distance, found[0], clear=True, value=found[2], slip=found[1])
        exchanged = cell.exchanged()
        if exchanged is not None:
            return cell.result(
                distance, exchanged[0], clear=True, value=exchanged[2], slip="cells_exchanged", other=exchanged[1].name
            )
        value = found[2] if found else float(columns[0].values[row] + (usual - volts) / columns[0].change)
        return cell.result(distance, columns[0], clear=len(columns) == 1, value=value, slip=found[1] if found else None)
    exchanged = cell.exchanged()
    if exchanged is not None:
        return cell.result(
            distance, exchanged[0], clear=True, value=exchanged[2], slip="cells_exchanged", other=exchanged[1].name
        )
    if abs(math.log(max(volts, 1e-9) / usual)) < VOLTAGE_BEYOND:
        return None
    return cell.result(distance, columns[0], clear=False, value=None)


def _distance_at_typed_voltage(judged: RowsOnCurve, which: int, row: int, usual: float) -> float:
    """Distance of the row with the voltage as typed.

    A voltage so far off that no load test is made at it is no excuse: the powers of the voltage are then nearly true.
    """
    far = abs(math.log(max(float(judged.read["voltage"][row]), 1e-9) / usual)) > VOLTAGE_BEYOND
    axes = tuple(replace(axis, voltage_error=0.0 if far else 0.5 * axis.voltage_error) for axis in judged.space.axes)
    strict = replace(judged, space=replace(judged.space, axes=axes))
    # A row that only such a voltage takes far beyond the others is no load beyond theirs.
    return float(strict.distances(which, strict.readings(row))[0]) if far else strict.distance(which)
