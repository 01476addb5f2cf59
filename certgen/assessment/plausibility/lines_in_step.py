"""Three line currents, or three line voltages, against each other: they keep step from row to row.

What one line reads over its two companions hardly changes with the load. The unbalance of a supply's voltage drives a
current that the load leaves as it is, so that the ratio of the currents goes in a line with one over their mean; the ratio
of the voltages does not change. A figure written wrongly in one line of one row breaks step there alone, and moves the
mean of the three, which the curve through the rows judges, by a third only.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from certgen.assessment.plausibility.evidence import LOAD_TEST, RowOffCurve
from certgen.assessment.plausibility.row_relations import TypedColumn
from certgen.assessment.plausibility.scatter_between_rows import Spread
from certgen.assessment.plausibility.slips import decimals_of, proposals, resolution_of
from certgen.assessment.plausibility.wrong_cell import EXPLAINED
from certgen.physics.domain import Array

#: Chi-square distance over the others' scatter beyond which a line is out of step; that of a row off the curve.
OFF = 27.0
#: Fewest rows that show how the lines keep step.
FEWEST = 5
#: How far the unbalance of the supply's voltage wanders from row to row. [1] Common practice, no source.
UNBALANCE_WANDERS = 0.0006
#: Unbalance of the currents over that of the voltages: 6 to 10, NEMA MG 1, 14.36.
CURRENT_OVER_VOLTAGE = 8.0
#: A line out of step by less than this part of itself is asked about by no one. Common practice, no source.
LEAST_OFF = {"voltage": 0.008, "current": 0.02}


def lines_out_of_step(columns: Sequence[TypedColumn], quantity: str, spread: Spread) -> RowOffCurve | None:
    """The one figure of three lines that breaks step with its companions, in this row alone.

    Parameters
    ----------
    columns : sequence of TypedColumn
        Those of the load test; only three of the quantity are held against each other.
    quantity : str
        'current' or 'voltage'.
    spread : Spread
        Standard uncertainty between rows of the mean of the three.

    Returns
    -------
    RowOffCurve or None
        None with fewer than five whole rows, or where every line keeps step.
    """
    lines = [column for column in columns if column.quantity == quantity]
    if len(lines) != 3:
        return None
    read = np.stack([np.asarray(line.values, dtype=float) for line in lines])
    at = np.flatnonzero((np.isfinite(read) & (read > 0.0)).all(axis=0))
    if len(at) < FEWEST:
        return None
    read = read[:, at]
    steps = np.array([resolution_of(line.values) for line in lines])
    own = np.hypot(spread.relative, steps[:, None] / np.sqrt(12.0) / read)
    wander = UNBALANCE_WANDERS * (CURRENT_OVER_VOLTAGE if quantity == "current" else 1.0)
    uncertainty = np.hypot(np.sqrt(1.5) * own, wander)
    logs = np.log(read)
    found = [
        _worst_of_line(logs[line] - others.mean(axis=0), _shape(others, quantity), uncertainty[line])
        for line, others in ((line, np.delete(logs, line, axis=0)) for line in range(3))
    ]
    line = int(np.argmax([abs(off) for _, off, _ in found]))
    row, off, distance = found[line]
    if not distance > OFF or abs(np.expm1(off)) < LEAST_OFF[quantity]:
        return None
    return _entry(lines[line], int(at[row]), distance, off=off, uncertainty=float(uncertainty[line, row]))


def _shape(others: Array, quantity: str) -> Array:
    """What the ratio of a line to its companions goes with: (n, 2) of currents, (n, 1) of voltages."""
    level = np.ones(others.shape[1])
    if quantity == "voltage":
        return level[:, None]
    load = np.exp(-others.mean(axis=0))
    return np.column_stack([level, load - load.mean()])


def _worst_of_line(ratio: Array, shape: Array, uncertainty: Array) -> tuple[int, float, float]:
    """The row that fits the others' ratios worst: its index, by how much (a logarithm), and its distance."""
    worst = (0, 0.0, 0.0)
    for row in range(len(ratio)):
        kept = np.arange(len(ratio)) != row
        weighted = shape[kept] / uncertainty[kept, None]
        inverse = np.linalg.pinv(weighted.T @ weighted)
        straight = inverse @ weighted.T @ (ratio[kept] / uncertainty[kept])
        left = (ratio[kept] - shape[kept] @ straight) / uncertainty[kept]
        scatter = (6.0 + float(left @ left)) / (6.0 + len(left) - shape.shape[1])
        off = float(ratio[row] - shape[row] @ straight)
        distance = off**2 / (float(uncertainty[row]) ** 2 + float(shape[row] @ inverse @ shape[row])) / scatter
        if distance > worst[2]:
            worst = (row, off, distance)
    return worst


def _entry(column: TypedColumn, row: int, distance: float, *, off: float, uncertainty: float) -> RowOffCurve:
    """What stands there, what its companions suggest, and the slip of the pen between the two."""
    typed = float(column.values[row])
    implied, slip = typed * float(np.exp(-off)), None
    tries = proposals(typed, column.quantity, decimals_of(column.values))
    near = [each for each in tries if ((each.value / implied - 1.0) / uncertainty) ** 2 < EXPLAINED]
    if near:
        slip = near[0].slip
        implied = min((each.value for each in near if each.slip == slip), key=lambda value: abs(value - implied))
    return RowOffCurve(
        LOAD_TEST, row, (row,), distance, column.quantity, column.name, True, typed * column.to_si,
        implied * column.to_si, implied, slip,
    )  # fmt: skip
