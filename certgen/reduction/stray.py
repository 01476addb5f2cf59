"""Stray load loss by regression: residual loss of the load points over torque squared."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from certgen.physics.curves import Line, straight_line

Array = NDArray[np.float64]


@dataclass(frozen=True)
class StrayFit:
    """The straight line of residual loss [W] over torque squared [(N*m)^2], and whether its rule accepts it."""

    line: Line
    rows: tuple[int, ...]  # indices of the load points it rests on
    removed: int | None  # index of the one load point left out
    accepted: bool
    second_correlation: float | None  # once the worst point is left out, where that was tried


def fit_stray(torque: Array, residual: Array, rows: NDArray[np.intp], *, least_correlation: float) -> StrayFit:
    """Fit residual loss over torque squared under one rule of acceptance.

    Parameters
    ----------
    torque : array, shape (n,)
        Torque at the shaft, of every load point. [N*m]
    residual : array, shape (n,)
        Input less output less every loss found otherwise. [W]
    rows : array of int, shape (m,)
        Load points of the regression.
    least_correlation : float
        Least correlation accepted; as it is signed, a falling line never is. [1]

    Returns
    -------
    StrayFit
        Where the correlation is too low, the point furthest from the line is left out, once; the second line
        stands if it is accepted, otherwise the first, refused.

    Raises
    ------
    ValueError
        Fewer than three points, or all of one torque.

    References
    ----------
    IEEE Std 112, method B; IEC 60034-2-1:2014, method 2-1-1B; both from memory.
    """
    if rows.size < 3:
        raise ValueError(f"a regression needs three load points, got {rows.size}")
    first = _line(torque, residual, rows)
    all_rows = tuple(int(row) for row in rows)
    if first.correlation >= least_correlation:
        return StrayFit(first, all_rows, None, accepted=True, second_correlation=None)
    off = np.abs(residual[rows] - (first.intercept + first.slope * torque[rows] ** 2))
    worst = int(np.argmax(off))
    left = np.delete(rows, worst)
    second = _line(torque, residual, left)
    if second.correlation >= least_correlation:
        kept = tuple(int(row) for row in left)
        return StrayFit(second, kept, int(rows[worst]), accepted=True, second_correlation=second.correlation)
    return StrayFit(first, all_rows, None, accepted=False, second_correlation=second.correlation)


def _line(torque: Array, residual: Array, rows: NDArray[np.intp]) -> Line:
    return straight_line(torque[rows] ** 2, residual[rows])
